#!/usr/bin/env python3
"""Runs the commands that the documents show and compares what they print with what the documents say they print.

    documents_test.py PROGRAM SOURCE            checks; ends with 1 and says where a document is out of date
    documents_test.py PROGRAM SOURCE --write    puts what is printed now into the documents

A block ```sh whose last line is a command of the program, followed by a block ```text, is an example. A line "..." in the text
stands for lines left out; the lines between two of them must stand in the output one after the other. So that --write can
find them again, the first line of each such run of lines is looked for by its first word. A block ```sh of such commands
without a ```text is run too, and has to end well. "# exit code 2" behind a command says how it ends, and that what it prints
on standard error is what the text shows. A ```json block behind "Save this as `NAME`:" is written to that file first.

Also checked: every relative link and picture of every page leads to a file, and to a heading in it if it names one; the README
keeps to its length.
"""
import pathlib
import re
import shlex
import shutil
import subprocess
import sys
import tempfile

EXAMPLES = ["README.md", "optimize/README.md", "optimize/guide/*.md"]
BLOCK = re.compile(r"Save this as `(?P<file>[^`/]+)`:\n\n```json\n(?P<json>.*?)```\n"
                   r"|```sh\n(?P<commands>[^`]*)```\n(?:\n+```text\n(?P<text>.*?)```\n)?", re.S)
EXIT_CODE = re.compile(r"  # exit code (\d+)$")
README_LINES, README_COLUMNS = 130, 100


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
        self.lines = match["commands"].strip().split("\n")
        self.commands = [arguments_of(line) for line in self.lines]
        self.shown = self.lines[-1]
        self.shows = match["text"] is not None
        self.runs = runs_of(match["text"]) if self.shows else []
        # A block that shows nothing is run if all of it is the program's; the shell's own commands are not.
        self.is_one = self.commands[-1] is not None if self.shows else None not in self.commands
        self.program, self.work = program, work

    def printed(self):
        for line, words in zip(self.lines, self.commands):
            if words is not None:
                done = subprocess.run([self.program] + words, cwd=self.work, capture_output=True, text=True, timeout=300)
                told = EXIT_CODE.search(line)
                if done.returncode not in ((int(told[1]),) if told else (0, 1)):
                    raise RuntimeError(f"{line}: exit code {done.returncode}: {done.stderr}")
        out = done.stderr if told else done.stdout
        return [line.rstrip() for line in out.split("\n")]

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


def anchors_of(page):
    """The names that a reader of pages gives to its headings."""
    headings = re.findall(r"^#+ (.*)$", re.sub(r"^```.*?^```$", "", page, flags=re.M | re.S), re.M)
    plain = [re.sub(r"\[([^\]]*)\]\([^)]*\)", r"\1", h).replace("`", "").strip().lower() for h in headings]
    return {re.sub(r"[^\w\- ]", "", h).replace(" ", "-") for h in plain}


def dead_links(source, pages):
    """What links lead nowhere."""
    for name in pages:
        text = re.sub(r"^```.*?^```$", "", (source / name).read_text("utf-8"), flags=re.M | re.S)
        for link in re.findall(r"\]\(([^)\s]+)\)", text):
            if re.match(r"[a-z]+:", link):
                continue
            path, _, anchor = link.partition("#")
            target = (source / name).parent / path if path else source / name
            if not target.exists():
                yield f"{name}: {link} leads to no file"
            elif anchor and anchor not in anchors_of(target.read_text("utf-8")):
                yield f"{name}: {link} leads to no heading"


def too_long(readme):
    lines = readme.rstrip("\n").split("\n")
    if len(lines) > README_LINES:
        yield f"README.md: {len(lines)} lines, at most {README_LINES}"
    for number, line in enumerate(lines, 1):
        if len(line) > README_COLUMNS:
            yield f"README.md:{number}: {len(line)} columns, at most {README_COLUMNS}"


def pages_of(source):
    """All pages of the project; not those of build folders, results and vendored libraries."""
    skip = {"build", "build-tests", "out", "vendor", ".git"}
    return sorted(p.relative_to(source) for p in source.rglob("*.md")
                  if not any(part in skip or part.startswith("build") for part in p.relative_to(source).parts[:-1]))


def run_examples(program, source, write):
    """(examples, out of date); with `write` the pages are renewed."""
    wrong = examples = 0
    for name in [p.relative_to(source) for pattern in EXAMPLES for p in sorted(source.glob(pattern))]:
        page = (source / name).read_text("utf-8")
        with tempfile.TemporaryDirectory() as work:  # a folder for each page, since a reader may begin with any
            shutil.copytree(source / "configs", pathlib.Path(work) / "configs")

            def handle(match):
                nonlocal wrong, examples
                if match["file"]:
                    (pathlib.Path(work) / match["file"]).write_text(match["json"], "utf-8")
                    return match[0]
                example = Example(program, work, match)
                if not example.is_one:
                    return match[0]
                examples += 1
                if write and example.shows:
                    return match[0].replace("```text\n" + match["text"], "```text\n" + example.renewed())
                fault = example.fault()
                if fault:
                    wrong += 1
                    print(f"{name}: {example.shown}: the document says\n{fault}\n", file=sys.stderr)
                return match[0]

            renewed = BLOCK.sub(handle, page)
        if write and renewed != page:
            (source / name).write_text(renewed, "utf-8")
    return examples, wrong


def main():
    program, source = str(pathlib.Path(sys.argv[1]).resolve()), pathlib.Path(sys.argv[2]).resolve()
    examples, wrong = run_examples(program, source, sys.argv[3:] == ["--write"])
    pages = pages_of(source)
    faults = [*dead_links(source, pages), *too_long((source / "README.md").read_text("utf-8"))]
    print("\n".join(faults), file=sys.stderr)
    print(f"{examples} examples, {wrong} out of date; {len(pages)} pages, {len(faults)} faults in links and lengths")
    return 1 if wrong or faults or examples == 0 or len(pages) < 10 else 0


if __name__ == "__main__":
    sys.exit(main())
