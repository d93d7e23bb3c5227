#!/usr/bin/env python3
"""The figures of trust: runs the checks that print figures and puts what they print into the documents.

    python3 tests/accuracy.py BUILD            runs every check (minutes to half an hour) and writes tests/README.md, and the
                                               lines of trust in README.md
    python3 tests/accuracy.py BUILD --check    ends with 1 and says where, unless both documents say what the listing in
                                               tests/README.md gives, and the listing what the quick checks print now

BUILD is the folder of bash tests/run.sh, build-tests. No figure is written by hand: each sentence takes its numbers out of a
printout, and a sentence whose number is not printed any more ends the run.
"""
import math
import pathlib
import re
import subprocess
import sys

SOURCE = pathlib.Path(__file__).resolve().parent.parent
PAGE, README = SOURCE / "tests" / "README.md", SOURCE / "README.md"
REFERENCE = "reference/test_reference"
AGREEMENT = "tests/reference/agreement_test.cpp"
COUPLED = "Gain stages against published resistance-coupled tables, row by row"
LAWS = "What each form of law leaves of the traced sheets, and of a line left out"
SCATTER = "Sources left out one by one, and whether the bands hold"
CARDS = "The first law of every card against its published points"
PENTODE = "The EF86's card against resistance-coupled stages of its sheet"

# (heading, what it is held against, [(program, file of the check, case, title of what is printed past doctest)])
CHECKS = [
    ("The circuit", "An independent general-purpose circuit-equation library (libngspice, a library in the tests only), on "
     "seeded random designs; its netlists are written from the definitions alone.", [
         (REFERENCE, AGREEMENT, "pairs of every bias and tail agree with the independent library*"),
         (REFERENCE, AGREEMENT, "gain stages of every bypassing agree with the independent library"),
         (REFERENCE, AGREEMENT, "self-biased and directly coupled split loads agree with the independent library*"),
         (REFERENCE, AGREEMENT, "chains of gain stage and split load agree with the independent library"),
         (REFERENCE, AGREEMENT, "paraphases of every bypassing agree with the independent library"),
         (REFERENCE, AGREEMENT, "floating paraphases of every bypassing agree with the independent library"),
         (REFERENCE, AGREEMENT, "chains of gain stage and pair agree with the independent library*"),
         (REFERENCE, "tests/reference/overdrive_test.cpp", "past the target: conducting grids and output valves' grids"),
         (REFERENCE, "tests/reference/two_tones_test.cpp", "intermodulation of clean stages is what both phases stepped through give"),
         (REFERENCE, "tests/reference/overdrive_test.cpp", "the clean swing is where bisection of the drive finds it"),
         (REFERENCE, "tests/reference/feedback_test.cpp", "*"),
         (REFERENCE, "tests/reference/faulty_parts_test.cpp", "*"),
         (REFERENCE, "tests/reference/written_netlist_test.cpp", "sixty designs*"),
     ]),
    ("Closed forms and conservation", "Formulas of the handbooks for limiting cases, and energy over a cycle.", [
        ("test_stagemodels", "tests/stagemodels/circuits/small_signal_formulas_test.cpp", "*"),
        ("test_stagemodels", "tests/stagemodels/circuits/split_load_test.cpp", "*"),
        ("test_stagemodels", "tests/stagemodels/circuits/gain_and_split_load_test.cpp", "*"),
        ("test_stagemodels", "tests/stagemodels/circuits/paraphase_test.cpp", "*"),
        ("test_stagemodels", "tests/stagemodels/solve/energy_balance_test.cpp", "*"),
        ("test_stagemodels", "tests/stagemodels/linear/distortion_with_feedback_test.cpp", "*"),
        ("test_stagemodels", "tests/stagemodels/plain/plain_path_test.cpp", "*"),
    ]),
    ("Published tables", "Resistance-coupled rows, phase-inverter blocks and typical points of data sheets and handbooks; "
     "each is named beside its check.", [
         ("test_stagemodels", "tests/stagemodels/published/resistance_coupled_test.cpp", "*", COUPLED),
         ("test_stagemodels", "tests/stagemodels/published/phase_inverter_test.cpp", "*"),
         ("test_stagemodels", "tests/stagemodels/published/published_splitters_test.cpp", "*"),
         ("test_stagemodels", "tests/stagemodels/published/published_cascades_test.cpp", "*"),
         ("test_configs", "tests/configs/cards_test.cpp", "*", CARDS),
         ("test_configs", "tests/configs/pentode_cards_test.cpp", "*", PENTODE),
         ("test_stagemodels", "tests/stagemodels/tubes/laws_compared_test.cpp", "*", LAWS),
         ("test_stagemodels", "tests/stagemodels/scatter/coverage_test.cpp", "*", SCATTER),
     ]),
    ("The search", "Going through every combination, and published problems with known answers.", [
        ("test_objectives", "tests/objectives/design_search_test.cpp", "the normal search finds the best of a lattice of parts*"),
        ("test_objectives", "tests/objectives/complete_search_test.cpp", "*"),
        ("test_optimize", "tests/optimize/methods/textbook_test.cpp", "*"),
    ]),
    ("What is in the box", "Boxes of every shipped design, drawn from the stated scatter, half of them with a fault; and published "
     "stages.", [
         ("test_objectives", "tests/objectives/diagnosis/calibration_test.cpp", "two thousand simulated boxes*"),
         ("test_objectives", "tests/objectives/diagnosis/published_stages_test.cpp", "thirty-six published stages*"),
         ("test_objectives", "tests/objectives/diagnosis/what_to_change_test.cpp", "*"),
     ]),
    ("What is not to break", "Designs from far too wide ranges, wrong inputs, kills.", [
        ("test_stagemodels", "tests/stagemodels/convergence_test.cpp", "a hundred thousand designs*"),
        ("test_stagemodels", "tests/stagemodels/solve/newton_steps_test.cpp", "*"),
        ("test_configs", "tests/configs/mutations_test.cpp", "*"),
        ("test_configs", "tests/configs/edges_test.cpp", "*"),
        ("test_program", "tests/program/faults_test.cpp", "killed at any moment*"),
    ]),
]
# Checks of a second or less, whose printout hangs on nothing but the sources.
QUICK = ("tests/stagemodels/circuits/", "tests/stagemodels/solve/energy_balance_test.cpp",
         "tests/stagemodels/linear/distortion_with_feedback_test.cpp", "tests/stagemodels/published/", "tests/stagemodels/scatter/",
         "tests/configs/cards_test.cpp", "tests/configs/pentode_cards_test.cpp")
CASE = re.compile(r"^TEST CASE:\s+(.*)$", re.M)
MESSAGE = re.compile(r"^\S+:\d+: MESSAGE: (.*(?:\n(?!\S+:\d+: |={10}|\[doctest\]|\n).*)*)", re.M)
NUMBER = re.compile(r"[-+]?\d+(?:\.\d+)?(?:e[-+]?\d+)?")
ROUNDING = 1e-9  # differences below are rounding of doubles, another on each processor


# What the checks print.

def report_of(build, program, file, case, plain_title=None):
    """[(title, printed)] of the cases that print something; ends the run if a check fails."""
    command = [str(build / "tests" / program), f"--source-file=*{file}", f"--test-case={case}"]
    done = subprocess.run(command, capture_output=True, text=True)
    if done.returncode != 0 or " 0 passed" in done.stdout.split("test cases:")[-1].split("|")[1]:
        sys.exit(f"{' '.join(command)}\n{done.stdout[-3000:]}")
    return printed_in(done.stdout, plain_title)


def printed_in(output, plain_title=None):
    first, *blocks = output.split("=" * 79)
    plain = [line.rstrip() for line in first.split("\n") if not line.startswith("[doctest]")]
    out = [(plain_title, "\n".join(plain).strip())] if plain_title else []
    for block in blocks:
        title = CASE.search(block)
        printed = [m.group(1).strip() for m in MESSAGE.finditer(block)]
        if title and printed:
            name = " ".join(title.group(1).split())
            out.append((name[0].upper() + name[1:], "\n".join(printed)))
    return out


def listing_text(listing):
    """The second part of tests/README.md. listing: [(heading, against, [(title, file, printed)])]."""
    page = ["## What the checks printed\n"]
    for heading, against, entries in listing:
        page.append(f"### {heading}\n\n{against}\n")
        page += [f"**{title}** (`{file}`)\n\n```text\n{printed}\n```\n" for title, file, printed in entries]
    return "\n".join(page)


ENTRY = re.compile(r"^\*\*([^\n]+)\*\* \(`([^`]+)`\)\n\n```text\n(.*?)\n```$", re.M | re.S)


def printouts_in(page):
    """{title: printed} of a page."""
    return {m[1]: m[3] for m in ENTRY.finditer(page)}


# Numbers out of printouts.

def numbers(printed, pattern):
    """The groups of the one place that matches, as numbers."""
    found = re.search(pattern, printed)
    if not found:
        sys.exit(f"no check prints {pattern!r} any more:\n{printed[:600]}")
    return [float(g) for g in found.groups()]


def up(value):
    """The least number of one digit that is not smaller."""
    if value == 0:
        return 0.0
    unit = 10.0 ** math.floor(math.log10(value))
    return math.ceil(value / unit * (1 - 1e-12)) * unit


def short(value):
    """As people write a bound: 0.003, 2e-9."""
    return re.sub(r"e([-+])0*", lambda m: "e" + m[1].strip("+"), f"{value:.1g}")


# name, solver, independent, difference, allowed, share of what is allowed
WORST = re.compile(r"^  (.+?)\s{2,}(\S+)\s+(\S+)\s+(\S+)\s+\S+\s+(\S+) %  ", re.M)


class Agreement:
    """All printouts of the comparison with the independent library, summed up."""

    KINDS = {"same": "At the solver's instants", "clean": "At fine instants, clean", "grids": "At fine instants, a grid",
             "cut": "At fine instants, cut off", "clipped": "At fine instants, clipped"}
    COUNTS = (r"(\d+) designs, (\d+) reach their target swing; (\d+) are clean there, in (\d+) a grid conducts, "
              r"(\d+) are cut off for a part of the cycle, (\d+) clip")

    def __init__(self, printouts):
        texts = [printed for title, printed in printouts.items() if "agree with the independent library" in title
                 and re.match(self.COUNTS, printed)]
        if not texts:
            sys.exit("no comparison with the independent library is printed any more")
        counts = [numbers(t, self.COUNTS) for t in texts]
        self.designs, _, self.clean, self.grids, self.cut, self.clipped = (int(sum(c)) for c in zip(*counts))
        self.rows = [(kind, *row) for t in texts for kind, row in self.rows_of(t)]

    def rows_of(self, text):
        for part in re.split(r"^(?=At )", text, flags=re.M):
            for kind, start in self.KINDS.items():
                if part.startswith(start):
                    for m in WORST.finditer(part):
                        yield kind, (m[1], *(float(m[n]) for n in (2, 3, 4, 5)))

    def off(self, kind, name, of_itself=False):
        """The largest difference in the rows whose name matches; each row is the case nearest to its tolerance."""
        sizes = [off / abs(solver) if of_itself else off for k, row, solver, _, off, _ in self.rows
                 if k == kind and re.fullmatch(name, row) and (off or not of_itself)]
        if not sizes:
            sys.exit(f"no row {name!r} is printed any more ({kind})")
        return max(sizes)

    def worst_distortion(self, kind):
        """(solver, independent) where the total distortion is off most of what is allowed."""
        rows = [row for row in self.rows if row[0] == kind and row[1] == "steady state: thd_pct"]
        return max(rows, key=lambda row: row[5])[2:4]


def named(printouts, start):
    found = [printed for title, printed in printouts.items() if title.startswith(start)]
    if len(found) != 1:
        sys.exit(f"{len(found)} checks begin with {start!r}")
    return found[0]


def coupled(printouts):
    """{quantity: (inside, asked)} of the published resistance-coupled rows."""
    tallies = re.findall(r"inside: current (\d+) of (\d+), gain (\d+) of (\d+), distortion (\d+) of (\d+)",
                         named(printouts, COUPLED))
    sums = [sum(int(t[n]) for t in tallies) for n in range(6)]
    return {"current": sums[0:2], "gain": sums[2:4], "distortion": sums[4:6]}


def splitters(printouts):
    """'current 7 of 7, gain ...' of the published splitters."""
    return re.search(r"inside: (.*)$", named(printouts, "Published splitters from end"))[1]


def pentode(printouts):
    """(largest miss in current, in gain, per cent) of the held stages of the EF86."""
    rows = re.findall(r"kohm: cathode current ([-+][\d.]+) %, gain ([-+][\d.]+) %", named(printouts, PENTODE))
    return [max(abs(float(row[n])) for row in rows) for n in (0, 1)]


def worst_point(printouts, quantities):
    """'the plate current of the 12AT7 at ..., -11.9 %' where a card's first law is off most."""
    points = re.findall(r"^(\S+) +(\S+) +(\S+ (?:V|mA)) +(Ia|gm|mu|rp) +\S+ +\S+ +([-+][\d.]+)%$", named(printouts, CARDS), re.M)
    points = [p for p in points if p[3] in quantities]
    if not points:
        sys.exit("no published points are printed any more")
    tube, plate_v, at, quantity, off = max(points, key=lambda p: abs(float(p[4])))
    return f"{quantity.replace('Ia', 'plate current')} of the {tube} at {plate_v} V and {at}: {off} %"


def medians(printouts):
    return numbers(named(printouts, CARDS), r"all cards: plate current ([\d.]+) % of (\d+), gm mu rp ([\d.]+) % of (\d+)")


def bands(printouts):
    """(statements, sources, per cent in the band of half, of nine tenths, between the credible laws, asked of these)."""
    return numbers(named(printouts, SCATTER), r"of everything +(\d+) statements of (\d+) sources: 50 % band holds +(\d+) %, "
                   r"90 % band +(\d+) %; between the credible laws (\d+) of (\d+)")


def laws_left(printouts):
    """(sheets on which a left-out line is met to 5 %, sheets, those left within 2.5 %, within 4 %)."""
    near, of, wider, left = numbers(named(printouts, LAWS), r"leaves at most 2.5 % on (\d+) of (\d+) sheets, 4 % on (\d+); says a "
                                    r"left-out line to 5 % on (\d+)")
    return left, of, near, wider


def worst_band(printouts):
    """'E88CC, 74 %': the type whose band of nine tenths is farthest from holding that."""
    m = re.search(r"of type (\S+) .*90 % band +(\d+) %", named(printouts, SCATTER))
    return f"{m[1]}, {m[2]} %"


def lattice(printouts):
    return numbers(named(printouts, "The normal search finds the best"),
                   r"found in (\d+) of (\d+) briefs of (\d+) to (\d+) combinations; worst gap (\S+) of")


# What the documents say.

def against(pair):
    return "{:.2f} % for {:.2f} %".format(*pair)


def trust_lines(printouts):
    """The lines of trust of README.md, each with its condition."""
    a, c, m, best = Agreement(printouts), coupled(printouts), medians(printouts), lattice(printouts)
    most_v, most_points = a.off("same", r"rest: (?!first).*_v"), a.off("same", "steady state: thd_pct")
    return [
        f"**The equations.** On {a.designs} random stages of every circuit an independent circuit library, asked at the same "
        f"instants, agrees within {up(most_v) * 1e9:.0f} nV at rest and {short(up(most_points))} points of distortion in the worst case.",
        f"**Distortion.** Against a finer cycle the worst total of the {a.clean} stages that stay clean is off by "
        f"{short(up(a.off('clean', 'steady state: thd_pct')))} points; at worst it reads {against(a.worst_distortion('grids'))} where a grid "
        f"conducts, {against(a.worst_distortion('cut'))} where a section cuts off, {against(a.worst_distortion('clipped'))} "
        f"where it clips.",
        "**Published stages.** Of the rows of old resistance-coupled tables, {} of {} currents come out within 12 %, {} of {} gains "
        "within 10 % (20 % where a sheet contradicts itself), {} of {} distortions within a factor of 1.6 or one point.".format(
            *c["current"], *c["gain"], *c["distortion"]),
        f"**The search.** In {best[0]:.0f} of {best[1]:.0f} briefs of {best[2]:.0f} to {best[3]:.0f} combinations the normal search "
        f"found the very best, as going through all of them proves.",
        f"**Your tube.** The law of a card misses the plate currents of its sheet by a median of {m[0]} % over {m[1]:.0f} points "
        f"(worst {worst_point(printouts, ('Ia',))}). A tube in your hand is off by far more: 10 to 30 % is ordinary.",
        "**Bands.** Of {:.0f} printed numbers of {:.0f} sources, each predicted without its source, {:.0f} % lie in the bands that are to "
        "hold half, {:.0f} % in those that are to hold nine tenths; between the laws that cards call credible {:.0f} of {:.0f}.".format(
            *bands(printouts)),
    ]


def summary_rows(printouts):
    """(what is promised, how it is checked, how it came out) of tests/README.md."""
    a, c, m, best = Agreement(printouts), coupled(printouts), medians(printouts), lattice(printouts)
    rows = [
        ("The equations of a stage are solved", f"independent library at the same instants, {a.designs} random stages",
         f"rest within {short(up(a.off('same', r'rest: (?!first).*_v')))} V; gain and output impedance within "
         f"{short(up(a.off('same', r'small signal: (gain|output_impedance.*)', True)))} of themselves; distortion within "
         f"{short(up(a.off('same', 'steady state: thd_pct')))} points"),
        ("Sixteen instants tell the distortion of a clean stage", f"the same at finer instants, {a.clean} stages",
         f"worst total off by {short(up(a.off('clean', 'steady state: thd_pct')))} points, worst single harmonic by "
         f"{short(up(a.off('clean', 'steady state: harmonics 2-10, signed, %')))}"),
        ("Where a grid conducts, total distortion within 2 % of itself or 0.003 points", f"the same, {a.grids} stages",
         f"worst {against(a.worst_distortion('grids'))}; a single harmonic off by "
         f"{a.off('grids', 'steady state: harmonics 2-10, signed, %'):.2g} points (shown)"),
        ("Where a section cuts off, total within 1 % of itself or 0.01 points", f"the same, {a.cut} stages",
         f"worst {against(a.worst_distortion('cut'))}; a single harmonic off by "
         f"{a.off('cut', 'steady state: harmonics 2-10, signed, %'):.2g} points (shown)"),
        ("Past 25 % distortion, total within 7 % of itself", f"the same, {a.clipped} stages",
         f"worst {against(a.worst_distortion('clipped'))}"),
    ]
    return rows + more_circuit_rows(printouts) + [
        ("Published stages: current within 12 %, gain within 10 % (20 % where a sheet contradicts itself), distortion within "
         "a factor of 1.6 or one point", "resistance-coupled tables of data sheets",
         "; ".join(f"{quantity} {inside} of {asked}" for quantity, (inside, asked) in c.items())
         + ". The rest is named row by row below with its reason"),
        ("Published splitters: distortion", "a sheet's figures, with three parameter sets", worst_splitter(printouts)),
        ("Published splitters from end to end: current within 12 %, gain within 10 %, distortion within a factor of 1.6",
         "sheets and reports, one circuit a row", splitters(printouts) + ". The rest is named row by row below with its reason"),
        ("The EF86's law, fitted to one point, gives its sheet's stages with 100 kohm to 10 %", "six supplies, not seen by the fit",
         "cathode current off by at most {} %, gain by {} %; with 220 kohm it is named below".format(*pentode(printouts))),
        ("The first law of each card meets its sheet", f"{m[1] + m[3]:.0f} published points",
         f"median {m[0]} % in plate current, {m[2]} % in gm, mu, rp; worst {worst_point(printouts, ('Ia',))}, "
         f"{worst_point(printouts, ('gm', 'mu', 'rp'))}"),
        ("Bands of what is not known of a type: 45 to 60 % of all statements in the 50 % band, 85 to 97 % in the 90 % band",
         "{:.0f} printed numbers of {:.0f} sources, each left out".format(*bands(printouts)[:2]),
         "{:.0f} % and {:.0f} %; between the laws that cards call credible lie {:.0f} of {:.0f}".format(*bands(printouts)[2:])
         + f"; worst type {worst_band(printouts)} in the 90 % band"),
        ("A law with a reason for each term says a curve that it was not shown to 5 % on six sheets", "eight traced sheets, line by line",
         "{:.0f} of {:.0f} sheets; 2.5 % of all readings met on {:.0f}, 4 % on {:.0f}".format(*laws_left(printouts))),
        ("The normal search finds the best of a lattice; at most one miss, by half a per cent of the score",
         f"every combination of {best[1]:.0f} drawn briefs, {best[2]:.0f} to {best[3]:.0f} each",
         f"{best[0]:.0f} of {best[1]:.0f}, worst gap {best[4]:g} of the score"),
        *search_and_failure_rows(printouts),
    ]


def more_circuit_rows(printouts):
    swing = re.search(r"clean swing, V +(\S+) +(\S+)", named(printouts, "The clean swing is where"))
    loops = numbers(named(printouts, "Loop gain, margins"),
                    r"(\d+) loops, (\d+) gain margins off by at most (\S+) dB, (\d+) phase margins by at most (\S+) degrees")
    share = numbers(named(printouts, "The second harmonic falls"), r"(\d+) chains; .* is (\S+) to (\S+) times")
    defects = [numbers(line, r"(\d+) defects compared in DC, (\d+) in AC, (\d+) refused")
               for line in named(printouts, "A faulty part makes").split("\n")]
    formula = numbers(named(printouts, "Gain and output impedance of four"), r"random pairs (\d+), worst gain (\S+), worst impedance (\S+) ")
    energy = numbers(named(printouts, "Charge, current and energy balance in a thousand"), r"left at a node (\S+) of .* energy (\S+)")
    past = re.search(r"thd_pct, output grids conducting +(\S+) +(\S+)", named(printouts, "Past the target"))
    return [
        ("Distortion past the target, into output valves' grids that conduct", "independent library, 0 to 12 dB past the target",
         f"worst {against((float(past[1]), float(past[2])))}"),
        ("Clean swing", "bisection of the drive in the independent library", f"worst {swing[1]} V for {swing[2]} V"),
        ("Margins of overall feedback", f"independent library, {loops[0]:.0f} loops",
         f"gain within {short(up(loops[2]))} dB, phase within {short(up(loops[4]))} degrees"),
        ("Distortion with feedback is that without, over 1 + T", f"solved closed and opened, {share[0]:.0f} chains, small drive",
         f"the first section's own share is {share[1]:.3g} to {share[2]:.3g} times what this says"),
        ("A defect's readings", "independent library", "{:.0f} in DC, {:.0f} in AC compared, {:.0f} refused by the library".format(
            *(sum(d) for d in zip(*defects)))),
        ("Gain and impedance of a pair", f"the closed formulas, {formula[0]:.0f} pairs", f"within {short(up(max(formula[1:])))} of themselves"),
        ("Charge and energy balance over a cycle", "conservation", f"left at a node {short(up(energy[0]))} of the supply's current, "
         f"energy {short(up(energy[1]))}"),
        wide_row(printouts),
    ]


def wide_row(printouts):
    wide = numbers(named(printouts, "The wide and the plain path"), r"(\d+) figures, .* (\d+) differ at all, worst by (\S+) of")
    return ("Wide vectors and plain code give the same figures", f"each other, {wide[0]:.0f} figures",
            f"{wide[1]:.0f} differ at all, by at most {short(up(wide[2]))} of their scale")


def worst_splitter(printouts):
    text = named(printouts, "The same block with three parameter sets")
    off = [(max(abs(float(x) / float(printed) - 1) for x in (one, two)), one, two, printed)
           for one, two, printed in re.findall(r"THD per side (\S+) (\S+) printed (\S+)", text)]
    _, one, two, printed = max(off)
    return f"worst {float(one):.2f} and {float(two):.2f} % for {printed} %"


def box_rows(printouts):
    boxes = named(printouts, "Two thousand simulated boxes")
    count = numbers(boxes, r"(\d+) boxes, ")[0]
    first = numbers(boxes, r"true fault first, where the meter sees it: (\d+) of (\d+)")
    healthy = numbers(boxes, r"healthy boxes called faulty: (\d+) of (\d+)")
    part = numbers(boxes, r"the part at fault: posterior (\d+) of \d+ .*?, rule of thumb (\d+) of (\d+)")
    brier = numbers(boxes, r"Brier score (\S+), before any reading (\S+)")
    sound = numbers(named(printouts, "Thirty-six published stages"), r"(\d+) of (\d+) sound")
    return [
        ("Readings of a box put the true fault first in nine of ten, and call a healthy box faulty in under 2 %",
         f"{count:.0f} simulated boxes of every design",
         f"first in {first[0]:.0f} of {first[1]:.0f} that a meter sees; healthy called faulty {healthy[0]:.0f} of {healthy[1]:.0f}; the part "
         f"right in {part[0]:.0f}, by the rule of thumb in {part[1]:.0f} of {part[2]:.0f}; Brier score {brier[0]:.3g}, {brier[1]:.3g} before reading"),
        ("A published stage is not called faulty", "printed currents of data sheets", f"{sound[0]:.0f} of {sound[1]:.0f} sound"),
    ]


def search_and_failure_rows(printouts):
    blocks = numbers(named(printouts, "A block that is dropped"), r"(\d+) blocks: (\d+) dropped by their parts alone, (\d+) by their corners")
    settle = numbers(named(printouts, "A hundred thousand designs"), r"of (\d+): .*not settled: rest (\d+), target (\d+)\. Settled with an answer: ([\d.]+) %")
    wrong = numbers(named(printouts, "Every member of every example"), r"(\d+) wrong inputs told")
    kills = numbers(named(printouts, "Killed at any moment"), r"(\d+) kills left the earlier results, (\d+) ")
    return box_rows(printouts) + [
        ("A block that the complete search drops holds no feasible design", "every design of the block judged",
         f"{blocks[1] + blocks[2]:.0f} of {blocks[0]:.0f} blocks dropped, rightly"),
        ("A design settles or says why not", f"{settle[0]:.0f} designs from ranges ten times too wide",
         f"{settle[3]} % settled with an answer; {settle[1] + settle[2]:.0f} did not settle"),
        ("Wrong input is told where it stands", "every member of every example, bent in six ways", f"{wrong[0]:.0f} told"),
        ("A killed search leaves old or new results, whole", f"{sum(kills):.0f} kills", f"{kills[0]:.0f} left the old whole, {kills[1]:.0f} came after the new were whole"),
    ]


HEAD = """# How accurate it is, and how that is known

Made by `python3 tests/accuracy.py build-tests` after `bash tests/run.sh`; no figure here is written by hand. Each check has an
expectation from outside; its tolerance, and where that comes from, stands in the file named with it. The table says what is
promised, what it is held against and how it came out. "Worst" is the case that used most of what is allowed; "shown" marks
what is printed and not held. Bounds are rounded up to one digit. Below the table stands what the checks printed.

Mind the order of things: a tube in your hand differs from its card by far more than the solver from its equations, and where a
grid conducts, a section cuts off or the stage clips, sixteen instants a half cycle tell single harmonics badly. Published
stages that run far below the currents of their sheets' curves come out wrong in distortion.

"""


def page_of(listing):
    printouts = printouts_in(listing)
    table = ["| promised | held against | how it came out |", "|---|---|---|"]
    table += ["| " + " | ".join(row) + " |" for row in summary_rows(printouts)]
    return HEAD + "\n".join(table) + "\n\n" + listing


BEGIN, END = "<!-- made by tests/accuracy.py -->", "<!-- end of what tests/accuracy.py makes -->"


def wrapped(line, width=100):
    out = [""]
    for word in ("* " + line).split(" "):
        if len(out[-1]) + 1 + len(word) > width:
            out.append(" ")
        out[-1] += (" " if out[-1] else "") + word
    return "\n".join(out)


def readme_of(readme, listing):
    made = BEGIN + "\n" + "\n".join(wrapped(line) for line in trust_lines(printouts_in(listing))) + "\n" + END
    before, rest = readme.split(BEGIN)
    return before + made + rest.split(END)[1]


# The two commands.

def write(build):
    listing = []
    for heading, against_what, checks in CHECKS:
        entries = []
        for check in checks:
            entries += [(title, check[1], printed) for title, printed in report_of(build, *check)]
            print(check[1], file=sys.stderr)
        listing.append((heading, against_what, entries))
    text = listing_text(listing)
    PAGE.write_text(page_of(text), "utf-8")
    README.write_text(readme_of(README.read_text("utf-8"), text), "utf-8")


def same(documented, printed):
    """Whether two printouts say the same; numbers that are rounding may differ."""
    if NUMBER.sub("#", documented) != NUMBER.sub("#", printed):
        return False
    return all(a == b or max(abs(float(a)), abs(float(b))) < ROUNDING
               for a, b in zip(NUMBER.findall(documented), NUMBER.findall(printed)))


def first_difference(documented, printed):
    for old, new in zip(documented.split("\n"), printed.split("\n")):
        if not same(old, new):
            return f"  the document says  {old}\n  the check prints   {new}"
    return "  one is longer than the other"


def check_quick(build, documented):
    """How many quick checks print something else than the listing says."""
    wrong = compared = 0
    for check in (c for _, _, checks in CHECKS for c in checks if c[1].startswith(QUICK)):
        for title, printed in report_of(build, *check):
            compared += 1
            if not same(documented.get(title, ""), printed):
                wrong += 1
                print(f"tests/README.md, {title}:\n{first_difference(documented.get(title, ''), printed)}", file=sys.stderr)
    print(f"{compared} printouts made anew, {wrong} differ")
    return wrong + (compared == 0)


def check(build):
    page, readme = PAGE.read_text("utf-8"), README.read_text("utf-8")
    listing = page[page.index("## What the checks printed\n"):]
    wrong = check_quick(build, printouts_in(listing))
    for name, is_now, should in (("tests/README.md", page, page_of(listing)), ("README.md", readme, readme_of(readme, listing))):
        if is_now != should:
            wrong += 1
            print(f"{name}: its figures are not those of the listing in tests/README.md", file=sys.stderr)
    return 1 if wrong else 0


def main():
    if len(sys.argv) not in (2, 3) or sys.argv[2:] not in ([], ["--check"]):
        sys.exit(__doc__)
    build = pathlib.Path(sys.argv[1]).resolve()
    if sys.argv[2:]:
        return check(build)
    return write(build)


if __name__ == "__main__":
    sys.exit(main())
