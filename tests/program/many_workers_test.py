#!/usr/bin/env python3
"""One complete search in 16 slices on two workers of GNU parallel, by the lines that stand in the guide.

    many_workers_test.py PROGRAM SOURCE

One slice is killed in the middle and started again; the results of another are removed, as if its machine were lost, and made
again; what is merged then has the bytes of one run. Ends with 1 and says what is wrong.
"""
import json
import os
import pathlib
import re
import signal
import subprocess
import sys
import tempfile

SLICES, KILLED, LOST = 16, 5, 7
MOST_OVER_MEAN = 1.15  # longest slice over the mean, in combinations that are looked at one by one


def blocks(guide):
    return re.findall(r"```sh\n(.*?)```", guide.read_text(encoding="utf-8"), re.S)


def fail(words):
    sys.exit(f"many_workers: {words}")


def main(program, source):
    source = pathlib.Path(source).resolve()
    run_all, run_missing_and_merge = blocks(source / "optimize/guide/many_machines.md")[:2]
    with tempfile.TemporaryDirectory() as folder:
        work = pathlib.Path(folder)
        tools = work / "tools"
        tools.mkdir()
        # Stands for the program: the first time that it is asked for one slice, it is killed while it searches.
        (tools / "antiphase").write_text(
            "#!/usr/bin/env bash\n"
            f'if [[ " $* " == *" --slice {KILLED}/{SLICES} "* && ! -e {work}/killed ]]; then\n'
            f"  touch {work}/killed\n"
            f'  "{program}" "$@" & sleep 0.01; kill -KILL $!; wait $!; exit 137\n'
            "fi\n"
            f'exec "{program}" "$@"\n')
        (tools / "antiphase").chmod(0o755)
        out = work / "out"
        out.mkdir()
        brief = str(source / "configs/briefs/trimmed_balance.json")
        settings = dict(os.environ, PATH=f"{tools}:{os.environ['PATH']}", brief=brief, slices=str(SLICES), jobs="2",
                        out=str(out), HOME=folder)

        def shell(lines):
            done = subprocess.run(["bash", "-c", lines], env=settings, capture_output=True, text=True, timeout=600)
            if done.returncode != 0:
                fail(f"ended with {done.returncode}:\n{lines}\n{done.stdout}{done.stderr}")

        shell(run_all)
        if not (work / "killed").exists():
            fail("no slice was killed, so nothing was tried")
        signals = [line.split("\t") for line in (out / "jobs").read_text().splitlines()[1:]]
        if len({row[0] for row in signals}) != SLICES:
            fail(f"{SLICES} slices were asked for, the log has {signals}")
        for file in (out / str(LOST)).iterdir():
            file.unlink()
        before = {k: (out / str(k) / "complete.json").stat().st_mtime_ns for k in range(1, SLICES + 1) if k != LOST}
        shell(run_all.split("parallel")[0] + run_missing_and_merge)
        after = {k: (out / str(k) / "complete.json").stat().st_mtime_ns for k in before}
        if before != after:
            fail("slices that were there were made again")
        whole = subprocess.run([program, "search", brief, "--complete", "--quiet", "--out", str(work / "one")],
                               capture_output=True, text=True, timeout=600)
        if whole.returncode != 0:
            fail(whole.stderr)
        if (out / "whole/complete.json").read_bytes() != (work / "one/complete.json").read_bytes():
            fail("the merged findings are not those of one run")

        looked_at = []
        for k in range(1, SLICES + 1):
            record = json.loads((out / str(k) / "candidates.json").read_text())["run"]["every_combination"]
            looked_at.append(record["covered"] - record["left_out_in_blocks"])
        ratio = max(looked_at) * SLICES / sum(looked_at)
        print(f"many_workers: {SLICES} slices, longest over mean {ratio:.3f}")
        if not ratio <= MOST_OVER_MEAN:
            fail(f"the longest slice is {ratio:.3f} times the mean")


if __name__ == "__main__":
    signal.signal(signal.SIGINT, signal.SIG_DFL)
    main(*sys.argv[1:3])
