"""How long the templates of a 900 x 450 tray take to make, on each size of paper, from a plan that is there already.

Run: python tests/bench/templates_speed.py [rounds]
"""

import io
import statistics
import sys
import time
from collections.abc import Mapping
from pathlib import Path

import pdfplumber
from django.template import Context, Engine

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

import calc  # noqa: E402
from calc.papers.patterns_dxf import patterns_dxf  # noqa: E402
from calc.papers.templates import templates_html, templates_pdf  # noqa: E402
from calc.papers.tiling import PAPERS  # noqa: E402
from calc.papers.traveller import Heading  # noqa: E402
from calc.units import Display  # noqa: E402

TRAY = {
    "title": "Drip tray",
    "material": {"alloy": "5052-H32", "thickness": 1.5},
    "shape": {
        "family": "fall-tray",
        "rim": [[0, 0], [900, 0], [900, 450], [0, 450]],
        "low_point": [610, 170],
        "depth": 57,
        "outlet": {"bore": 32},
    },
    "making": {"effort": "quick"},
}
HEADING = Heading("Mill Lane", "42", "1", "K7QF", "25 November 2026")


def main(rounds: int) -> None:
    templates = Engine(dirs=[str(ROOT / "templates")])

    def render(name: str, context: Mapping[str, object]) -> str:
        return str(templates.get_template(name).render(Context(dict(context))))

    plan = calc.plan(TRAY)
    for paper in PAPERS.values():
        pdf = templates_pdf(plan, HEADING, Display(), render, paper=paper)  # the first one also loads the fonts
        whole, drawn = [], []
        for _ in range(rounds):
            begun = time.perf_counter()
            templates_pdf(plan, HEADING, Display(), render, paper=paper)
            whole.append(time.perf_counter() - begun)
            begun = time.perf_counter()
            templates_html(plan, HEADING, Display(), render, paper=paper)
            drawn.append(time.perf_counter() - begun)
        with pdfplumber.open(io.BytesIO(pdf)) as book:
            pages = len(book.pages)
        print(
            f"templates on {paper.name}, {pages} pages, {len(pdf) / 1000:.0f} kB, {rounds} rounds: "
            f"median {statistics.median(whole):.2f} s, of it HTML and drawings {statistics.median(drawn) * 1000:.0f} ms"
        )
    patterns_dxf(plan)
    taken = []
    for _ in range(rounds):
        begun = time.perf_counter()
        patterns_dxf(plan)
        taken.append(time.perf_counter() - begun)
    print(f"DXF: median {statistics.median(taken) * 1000:.0f} ms")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 9)
