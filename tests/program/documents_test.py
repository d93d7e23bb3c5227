#!/usr/bin/env python3
"""Runs the commands that the documents show and compares what they print with what the documents say they print.

    documents_test.py PROGRAM SOURCE            checks; ends with 1 and says where a document is out of date
    documents_test.py PROGRAM SOURCE --write    puts what is printed now into the documents

A block ```sh whose last line is a command of the program, followed by a block ```text, is an example. A line "..." in the text
stands for lines left out; the lines between two of them must stand in the output one after the other. So that --write can
find them again, the first line of each such run of lines is looked for by its first word.
"""
import pathlib
import re
import shlex
import shutil
import subprocess
import sys
import tempfile

DOCUMENTS = ["README.md", "optimize/README.md"]
EXAMPLE = re.compile(r"```sh\n(?P<commands>[^`]*)```\n\n*```text\n(?P<text>.*?)```\n", re.S)


def arguments_of(line):
    """The words after the program's name, or None if the line runs something else."""
    line = line.split("  #")[0].strip()
    if line == "bash optimize/run.sh":
        return ["search", "configs/briefs/rehearsal_room.json", "--out", "results/out/rehearsal_room"]
    for name in ("bash optimize/run.sh ", "antiphase "):
        if line.startswith(name):
            return shlex.split(line[len(name):])
    return None


def runs_of(text):
    """The runs of lines between the lines "..."."""
    runs = [[]]
    for line in text.rstrip("\n").split("\n"):
        if line == "...":
            runs.append([])
        else:
            runs[-1].append(line)
    return runs


def place_of(run, lines, start):
    for at in range(start, len(lines) - len(run) + 1):
        if lines[at:at + len(run)] == run:
            return at
    return None


def first_word(line):
    words = line.split()
    return words[0] if words else ""


class Example:
    def __init__(self, program, work, match):
        self.commands = [arguments_of(line) for line in match["commands"].strip().split("\n")]
        self.shown = match["commands"].strip().split("\n")[-1]
        self.runs = runs_of(match["text"])
        self.is_one = self.commands[-1] is not None
        self.program, self.work = program, work

    def printed(self):
        for words in self.commands:
            if words is not None:
                done = subprocess.run([self.program] + words, cwd=self.work, capture_output=True, text=True, timeout=300)
        if done.returncode not in (0, 1):
            raise RuntimeError(f"{self.shown}: exit code {done.returncode}: {done.stderr}")
        return [line.rstrip() for line in done.stdout.split("\n")]

    def fault(self):
        """What the document says and the program does not; None if nothing."""
        lines, start = self.printed(), 0
        for run in self.runs:
            at = place_of([line.rstrip() for line in run], lines, start)
            if at is None:
                return "\n".join(run) + "\n--- but the program prints ---\n" + "\n".join(lines[:60])
            start = at + len(run)
        return None

    def renewed(self):
        lines, start, runs = self.printed(), 0, []
        for run in self.runs:
            at = next((i for i in range(start, len(lines)) if first_word(lines[i]).startswith(first_word(run[0]))), None)
            if at is None:
                raise RuntimeError(f"{self.shown}: no line begins with {first_word(run[0])!r}")
            runs.append(lines[at:at + len(run)])
            start = at + len(run)
        return "\n...\n".join("\n".join(run).rstrip("\n") for run in runs) + "\n"


def main():
    program, source = str(pathlib.Path(sys.argv[1]).resolve()), pathlib.Path(sys.argv[2]).resolve()
    write = sys.argv[3:] == ["--write"]
    wrong = examples = 0
    with tempfile.TemporaryDirectory() as work:
        shutil.copytree(source / "configs", pathlib.Path(work) / "configs")
        for name in DOCUMENTS:
            page = (source / name).read_text("utf-8")

            def handle(match):
                nonlocal wrong, examples
                example = Example(program, work, match)
                if not example.is_one:
                    return match[0]
                examples += 1
                if write:
                    return match[0].replace("```text\n" + match["text"], "```text\n" + example.renewed())
                fault = example.fault()
                if fault:
                    wrong += 1
                    print(f"{name}: {example.shown}: the document says\n{fault}\n", file=sys.stderr)
                return match[0]

            renewed = EXAMPLE.sub(handle, page)
            if write and renewed != page:
                (source / name).write_text(renewed, "utf-8")
    print(f"{examples} examples, {wrong} out of date")
    return 1 if wrong or examples == 0 else 0


if __name__ == "__main__":
    sys.exit(main())
