#!/usr/bin/env python3
"""Takes the pictures of README and guide anew: searches the demo, opens its page in a browser and writes results/pictures/*.png,
and what the program draws itself as *.svg.

    pictures.py PROGRAM SOURCE             all
    pictures.py PROGRAM SOURCE --drawings  those that need no browser
"""
import json
import os
import re
import shutil
import subprocess
import sys
import tempfile

sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
from browser import Browser  # noqa: E402

MARGIN = 8


def around(browser, selectors, height=None):
    """The part of the page that holds all these elements."""
    boxes = browser.ask("%s.flatMap(s => [...document.querySelectorAll(s)]).filter(e => e.checkVisibility()).map(e => { "
                        "const r = e.getBoundingClientRect(); return [r.left + scrollX, r.top + scrollY, r.right + scrollX, "
                        "r.bottom + scrollY]; })" % json.dumps(selectors))
    left, top = (min(b[n] for b in boxes) - MARGIN for n in (0, 1))
    right, bottom = (max(b[n] for b in boxes) + MARGIN for n in (2, 3))
    return {"x": max(0, left), "y": top, "width": right - max(0, left), "height": height or bottom - top}


def press(browser, selector):
    browser.ask("document.querySelector(%s).click()" % json.dumps(selector))
    browser.settle()


# (circuit, its brief, what the title of the drawing to take holds)
DRAWN = [("long_tailed_pair", "rehearsal_room", "bias resistor"), ("split_load", "split_load", "bias resistor")]


def alone(drawing):
    """A drawing of the page as a file of its own: on white, and legible without the page's style sheet."""
    return re.sub(r"<svg class=\"[^\"]*\"", '<svg xmlns="http://www.w3.org/2000/svg" style="background:#fff;color:#111" '
                  'font-family="sans-serif" fill="none"', drawing, count=1) + "\n"


def drawings(program, source, into):
    briefs = os.path.join(source, "configs", "briefs")
    with tempfile.TemporaryDirectory() as folder:
        for circuit, brief, holds in DRAWN:
            subprocess.run([program, "search", os.path.join(briefs, brief + ".json"), "--out", folder, "--quiet", "--plots", "svg"],
                           check=True, stdout=subprocess.DEVNULL)
            with open(os.path.join(folder, "report.html"), encoding="utf-8") as page:
                found = re.findall(r"<svg class=\"circuit.*?</svg>", page.read(), re.S)
            drawing = next(d for d in found if holds in re.search(r"<title>(.*?)</title>", d)[1])
            with open(os.path.join(into, "circuit_%s.svg" % circuit), "w", encoding="utf-8") as out:
                out.write(alone(drawing))
            if brief == "rehearsal_room":
                shutil.copy(os.path.join(folder, "plate_curves_1.svg"), into)
    subprocess.run([program, "tubes", "12AT7", "--plot", os.path.join(into, "tube_12AT7.svg")], check=True, stdout=subprocess.DEVNULL)


def main():
    program, source = sys.argv[1:3]
    into = os.path.join(source, "results", "pictures")
    drawings(program, source, into)
    if sys.argv[3:] == ["--drawings"]:
        return
    with tempfile.TemporaryDirectory() as folder:
        subprocess.run([program, "search", os.path.join(source, "configs/briefs/rehearsal_room.json"), "--out", folder, "--quiet"],
                       check=True, stdout=subprocess.DEVNULL)
        browser = Browser(folder)
        try:
            browser.open(os.path.join(folder, "report.html"))
            browser.wait_for("document.body.dataset.solver === 'ready'")
            browser.picture(os.path.join(into, "answer.png"), around(browser, ["#answer"]))
            for row in (1, 5):
                press(browser, ".designs tbody tr:nth-child(%d) .tick" % row)
            browser.picture(os.path.join(into, "designs.png"), around(browser, [".designs"]))
            browser.picture(os.path.join(into, "trade_off.png"), around(browser, ["#picture-tradeoff"]))
            browser.picture(os.path.join(into, "figures.png"), around(browser, ["#picture-figures"]))
            press(browser, "#untick")
            curves = ["#picture-" + name for name in ("curves-0", "curves-1", "waveforms", "harmonics")]
            browser.picture(os.path.join(into, "plate_curves.png"), around(browser, curves))
            press(browser, "#live-parts button[aria-label^='plate resistor 2: one value up']")
            browser.wait_for("/limits are kept|BROKEN/.test(document.getElementById('live-limits').textContent)")
            browser.settle()
            browser.picture(os.path.join(into, "bench.png"), around(browser, ["#live", "#live *"], height=1000))
        finally:
            browser.close()


if __name__ == "__main__":
    main()
