#!/usr/bin/env python3
"""Takes the pictures of the README anew: searches the demo, opens its page in a browser and writes results/pictures/*.png.

    pictures.py PROGRAM SOURCE
"""
import json
import os
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


def main():
    program, source = sys.argv[1:3]
    into = os.path.join(source, "results", "pictures")
    with tempfile.TemporaryDirectory() as folder:
        subprocess.run([program, "search", os.path.join(source, "configs/briefs/rehearsal_room.json"), "--out", folder, "--quiet"],
                       check=True, stdout=subprocess.DEVNULL)
        browser = Browser(folder)
        try:
            browser.open(os.path.join(folder, "report.html"))
            browser.wait_for("document.body.dataset.solver === 'ready'")
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
