#!/usr/bin/env python3
"""Texts and sizes that somebody else has put into a brief, a design or a card, in everything that comes out.

    hostile_input_test.py PROGRAM SOURCE

Texts: markup, quotes, formulas of a spreadsheet, lines of a netlist, controls of a terminal, marks that turn the writing
direction, paths. They must come out as text: escaped in the page and in pictures, not as the beginning of a cell (OWASP, "CSV
injection"), not as an element in a netlist, not as a control on a terminal. Sizes: refused with exit code 2 and a message
that says what is too large, in 200 MB of memory (resource limits of the system, not a clock). Ends with 1 and says what is wrong.
"""
import csv
import html.parser
import json
import pathlib
import re
import resource
import subprocess
import sys
import tempfile

MARK = "zq7"  # stands in each text, so that it can be found again
TEXTS = [
    f"<script>window.{MARK}=1</script>",
    f"\"><img src=x onerror=\"window.{MARK}=1\">",
    f"</title></style></script><svg onload=window.{MARK}=1>",
    f"=HYPERLINK(\"http://example.invalid/{MARK}\")",
    f"+{MARK}+cmd|' /C calc'!A0",
    f"@SUM({MARK})",
    f"-{MARK}",
    f"{MARK}\tR99 p1 0 1",
    f"\u202e{MARK}\u2066\u200f",
    f"../../../../tmp/{MARK}",
    f"{MARK} &lt;b&gt; &amp; ' \" ` ${{7*7}} {{{{7*7}}}}",
    MARK + "x" * 5000,
]
# Refused where they stand: a text of one line has none of these.
CONTROLS = [f"{MARK}\nR99 p1 0 1", f"{MARK}\x1b[2J\x1b]0;owned\x07", f"{MARK}\r* x", f"{MARK}\x00", f"{MARK}\u2028R99 p1 0 1",
            f"{MARK}\x9b2J"]
MEMORY = 200 << 20

wrong = []


def check(holds, words):
    if not holds:
        wrong.append(words)


def run(program, arguments, cwd, memory=None):
    limit = (lambda: resource.setrlimit(resource.RLIMIT_DATA, (memory, memory))) if memory else None
    return subprocess.run([program, *arguments], cwd=cwd, capture_output=True, timeout=300, preexec_fn=limit)


class Page(html.parser.HTMLParser):
    """What a browser would make of it: elements with a handler, and scripts that hold a text of ours as code."""

    def __init__(self):
        super().__init__()
        self.bad, self.inside = [], []

    def handle_starttag(self, tag, attributes):
        for name, value in attributes:
            if name.startswith("on") and MARK in (value or ""):
                self.bad.append(f"<{tag} {name}>")
            if tag in ("img", "iframe", "object", "embed") and name in ("src", "data") and not (value or "").startswith("data:"):
                self.bad.append(f"<{tag} {name}={value}>")
        self.inside.append((tag, dict(attributes)))

    def handle_endtag(self, tag):
        while self.inside and self.inside.pop()[0] != tag:
            pass

    def handle_data(self, data):
        if self.inside and self.inside[-1][0] == "script" and MARK in data:
            kind = self.inside[-1][1].get("type", "")
            if kind != "application/json":
                self.bad.append("a text in a script")
            else:
                try:
                    json.loads(data)
                except ValueError:
                    self.bad.append("JSON of the page is broken")


def look_at_page(text, where):
    page = Page()
    page.feed(text)
    check(not page.bad, f"{where}: {page.bad}")


def look_at_csv(file, where):
    for row in csv.reader(file.read_text(encoding="utf-8").splitlines()):
        for cell in row:
            if MARK in cell:
                check(cell[0] not in "=+-@\t\r", f"{where}: a cell begins with {cell[:12]!r}")


def look_at_netlist(text, where):
    for line in text.splitlines()[1:]:
        check(MARK not in line or line.startswith("*"), f"{where}: {line[:60]!r}")
    check(not re.search(r"^R99\b", text, re.M), f"{where}: an element of the title")


def look_at_terminal(data, where):
    for byte in data:
        check(byte >= 0x20 or byte in (0x0a,), f"{where}: control {byte:#x}")
        if wrong and wrong[-1].startswith(where):
            return
    text = data.decode("utf-8")
    check(not re.search("[\x80-\x9f\u202a-\u202e\u2066-\u2069\u2028\u2029]", text), f"{where}: a control of Unicode")


def texts(program, source, work):
    brief = json.loads((source / "configs/briefs/only_100k_plates.json").read_text())
    brief.pop("$schema", None)
    brief["search"] = {"effort": "quick", "candidates": 2}
    design = json.loads((source / "configs/designs/high_mu_self_biased.json").read_text())
    design.pop("$schema", None)
    card = json.loads((source / "configs/tubes/6SL7GT.json").read_text())
    card.pop("$schema", None)
    card["curves"] = []
    for n, text in enumerate(TEXTS + CONTROLS):
        refusable = text in CONTROLS
        where = f"text {n} ({text[:24]!r})"
        folder = work / f"t{n}"
        (folder / "tubes").mkdir(parents=True)
        # a name of a tube is a file's and stands in tables
        card.update(tube="OWN", also_known_as=[], notes=text)
        card["ratings"]["plate_v_max"]["source"] = text
        (folder / "tubes/OWN.json").write_text(json.dumps(card))
        brief.update(title=text, notes=[text])
        design.update(title=text, notes=[text], tube="OWN")
        (folder / "brief.json").write_text(json.dumps(brief))
        (folder / "design.json").write_text(json.dumps(design))
        for name, arguments in {
            "search": ["search", "brief.json", "--quiet", "--explain", "--plots", "svg", "--out", "out"],
            "evaluate": ["evaluate", "design.json", "--explain", "--parts", "parts.csv", "--netlist", "stage.cir", "--tubes", "tubes"],
            "evaluate --json": ["evaluate", "design.json", "--json", "--tubes", "tubes"],
            "spread": ["spread", "design.json", "--sheet", "--tubes", "tubes"],
            "tubes": ["tubes", "OWN", "--tubes", "tubes"],
        }.items():
            done = run(program, arguments, folder)
            check(done.returncode in ((0, 1, 2) if refusable else (0, 1)), f"{where}, {name}: exit code {done.returncode}: {done.stderr[-300:]!r}")
            look_at_terminal(done.stdout, f"{where}, {name}, standard output")
            look_at_terminal(done.stderr, f"{where}, {name}, standard error")
            if name == "evaluate --json" and done.returncode == 0:
                json.loads(done.stdout)
        out = folder / "out"
        if out.exists():
            for file in out.iterdir():
                if file.suffix == ".csv":
                    look_at_csv(file, f"{where}, {file.name}")
                elif file.suffix in (".html", ".svg"):
                    look_at_page(file.read_text(encoding="utf-8"), f"{where}, {file.name}")
                elif file.suffix == ".json":
                    json.loads(file.read_text(encoding="utf-8"))
        if (folder / "stage.cir").exists():
            look_at_netlist((folder / "stage.cir").read_text(encoding="utf-8"), f"{where}, netlist")
        if (folder / "parts.csv").exists():
            look_at_csv(folder / "parts.csv", f"{where}, parts.csv")
        check(not (work / MARK).exists() and not pathlib.Path(f"/tmp/{MARK}").exists(), f"{where}: a file outside of the folder")
    # and as names, where names are asked for
    for n, text in enumerate(TEXTS + CONTROLS):
        folder = work / f"n{n}"
        folder.mkdir()
        design.update(title="a pair", notes=[], tube=text)
        brief.update(title="a brief", notes=[], tubes=[text])
        (folder / "design.json").write_text(json.dumps(design))
        (folder / "brief.json").write_text(json.dumps(brief))
        for name, arguments in {"evaluate": ["evaluate", "design.json"], "search": ["search", "brief.json", "--quiet", "--out", "out"],
                                "snap": ["snap", text.replace("\0", ""), "--series", "E24"],
                                "tubes": ["tubes", text.replace("\0", "")]}.items():
            done = run(program, arguments, folder)
            check(done.returncode == 2, f"name {n} ({text[:24]!r}), {name}: exit code {done.returncode}")
            look_at_terminal(done.stdout + done.stderr, f"name {n} ({text[:24]!r}), {name}")


def sizes(program, source, work):
    brief = json.loads((source / "configs/briefs/rehearsal_room.json").read_text())
    brief.pop("$schema", None)
    folder = work / "sizes"
    folder.mkdir()

    def refused(name, text, words):
        (folder / "brief.json").write_text(text)
        done = run(program, ["search", "brief.json", "--quiet", "--out", "out"], folder, MEMORY)
        told = done.stderr.decode("utf-8", "replace")
        check(done.returncode == 2, f"{name}: exit code {done.returncode}: {told[-200:]}")
        check(re.search(words, told), f"{name}: the message does not say {words!r}: {told[:300]}")
        check(not (folder / "out").exists(), f"{name}: something was written")

    def bent(**members):
        return json.dumps({**brief, **members})

    many_steps = {**brief["variables"], "supply_v": {"from": 300, "to": 400, "step": 1e-7}}
    refused("10^9 steps", bent(variables=many_steps), r"supply_v|step")
    refused("20,000 tubes", bent(tubes=[f"T{n}" for n in range(20000)]), r"tubes")
    refused("20,000 times one tube", bent(tubes=["12AX7"] * 20000), r"tubes")
    refused("a million supplies", bent(variables={**brief["variables"], "supply_v": list(range(1, 1000001))}), r"larger than|supply_v")
    refused("deep nesting", "[" * 200000 + "]" * 200000, r"brief.json")
    refused("deep nesting in a member", json.dumps(brief)[:-1] + ', "notes": ' + "[" * 200000 + "]" * 200000 + "}", r"brief.json")
    refused("a number beyond all", bent(heater_v="1e400"), r"heater_v")
    refused("a number beyond all, as a number", json.dumps(brief)[:-1] + ', "heater_v": 1e400}', r"brief.json")
    refused("a file of nothing but blanks", " " * (64 << 20), r"brief.json")
    refused("candidates without end", bent(search={**brief["search"], "candidates": 10**12}), r"candidates")


def main(program, source):
    program, source = str(pathlib.Path(program).resolve()), pathlib.Path(source).resolve()
    with tempfile.TemporaryDirectory() as folder:
        work = pathlib.Path(folder)
        texts(program, source, work)
        sizes(program, source, work)
    for words in wrong:
        print(f"hostile_input: {words}")
    if wrong:
        sys.exit(1)
    print(f"hostile_input: {len(TEXTS)} texts and {len(CONTROLS)} with controls in five commands, and as names; ten sizes")


if __name__ == "__main__":
    main(*sys.argv[1:3])
