#!/usr/bin/env python3
"""Writes tests/README.md: how accurate antiphase is and how that is known, with the figures that the checks print.

    python3 tests/accuracy.py BUILD        BUILD: the folder of bash tests/run.sh, build-tests
"""
import pathlib
import re
import subprocess
import sys

SOURCE = pathlib.Path(__file__).resolve().parent.parent
HEAD = """# How accurate it is, and how that is known

Made by `python3 tests/accuracy.py build-tests` after `bash tests/run.sh`: the figures below are what the checks printed. Each
check has an expectation from outside; the tolerances and where they come from stand in the checks themselves, in the file
named with each. A tube in your hand differs from its card by far more than any of this: 10 to 30 % in current is ordinary.
"""
# (heading, what it is held against, [(program, file of the check, case)])
CHECKS = [
    ("The circuit", "An independent general-purpose circuit-equation library (libngspice, a library in the tests only), on "
     "seeded random designs; its netlists are written from the definitions alone.", [
         ("reference/test_reference", "tests/reference/agreement_test.cpp", "pairs of every bias and tail agree with the independent library*"),
         ("reference/test_reference", "tests/reference/agreement_test.cpp", "gain stages of every bypassing agree with the independent library"),
         ("reference/test_reference", "tests/reference/agreement_test.cpp", "chains of gain stage and pair agree with the independent library*"),
         ("reference/test_reference", "tests/reference/overdrive_test.cpp", "past the target: conducting grids and output valves' grids"),
         ("reference/test_reference", "tests/reference/two_tones_test.cpp", "intermodulation of clean stages is what both phases stepped through give"),
         ("reference/test_reference", "tests/reference/overdrive_test.cpp", "the clean swing is where bisection of the drive finds it"),
         ("reference/test_reference", "tests/reference/feedback_test.cpp", "*"),
         ("reference/test_reference", "tests/reference/faulty_parts_test.cpp", "*"),
     ]),
    ("Closed forms and conservation", "Formulas of the handbooks for limiting cases, and energy over a cycle.", [
        ("test_stagemodels", "tests/stagemodels/circuits/small_signal_formulas_test.cpp", "*"),
        ("test_stagemodels", "tests/stagemodels/solve/energy_balance_test.cpp", "*"),
        ("test_stagemodels", "tests/stagemodels/plain/plain_path_test.cpp", "*"),
    ]),
    ("Published tables", "Resistance-coupled rows, phase-inverter blocks and typical points of data sheets and handbooks; "
     "each is named beside its check.", [
         ("test_stagemodels", "tests/stagemodels/published/resistance_coupled_test.cpp", "*"),
         ("test_stagemodels", "tests/stagemodels/published/phase_inverter_test.cpp", "*"),
         ("test_configs", "tests/configs/cards_test.cpp", "*"),
     ]),
    ("The search", "Going through every combination, and published problems with known answers.", [
        ("test_objectives", "tests/objectives/design_problem_test.cpp", "the normal search finds the best of a lattice of parts*"),
        ("test_objectives", "tests/objectives/complete_search_test.cpp", "*"),
        ("test_optimize", "tests/optimize/methods/textbook_test.cpp", "*"),
    ]),
    ("What is not to break", "Designs from far too wide ranges, wrong inputs, kills.", [
        ("test_stagemodels", "tests/stagemodels/convergence_test.cpp", "a hundred thousand designs*"),
        ("test_stagemodels", "tests/stagemodels/solve/newton_steps_test.cpp", "*"),
        ("test_configs", "tests/configs/mutations_test.cpp", "*"),
        ("test_configs", "tests/configs/edges_test.cpp", "*"),
        ("test_program", "tests/program/faults_test.cpp", "killed at any moment*"),
    ]),
]
CASE = re.compile(r"^TEST CASE:\s+(.*)$", re.M)
MESSAGE = re.compile(r"^\S+:\d+: MESSAGE: (.*(?:\n(?!\S+:\d+: |={10}|\[doctest\]|\n).*)*)", re.M)


def report_of(build, program, file, case):
    """[(title, printed)] of the cases that print something; ends the run if a check fails."""
    command = [str(build / "tests" / program), f"--source-file=*{file}", f"--test-case={case}"]
    done = subprocess.run(command, capture_output=True, text=True)
    if done.returncode != 0 or " 0 passed" in done.stdout.split("test cases:")[-1].split("|")[1]:
        sys.exit(f"{' '.join(command)}\n{done.stdout[-3000:]}")
    out = []
    for block in done.stdout.split("=" * 79):
        title = CASE.search(block)
        printed = [m.group(1).strip() for m in MESSAGE.finditer(block)]
        if title and printed:
            out.append((" ".join(title.group(1).split()), printed))
    return out


def main():
    if len(sys.argv) != 2:
        sys.exit(__doc__)
    build = pathlib.Path(sys.argv[1]).resolve()
    page = [HEAD]
    for heading, against, checks in CHECKS:
        page.append(f"## {heading}\n\n{against}\n")
        for program, file, case in checks:
            for title, printed in report_of(build, program, file, case):
                page.append(f"**{title[0].upper() + title[1:]}** (`{file}`)\n\n```text\n" + "\n".join(printed) + "\n```\n")
            print(file, file=sys.stderr)
    (SOURCE / "tests" / "README.md").write_text("\n".join(page), "utf-8")


if __name__ == "__main__":
    main()
