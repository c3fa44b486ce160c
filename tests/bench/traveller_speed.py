"""How long a traveller takes to make: HTML, drawings and PDF of a plan that is there already.

Run: python tests/bench/traveller_speed.py [rounds]
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
from calc.papers.traveller import Heading, traveller_html, traveller_pdf  # noqa: E402
from calc.units import Display  # noqa: E402

TRAY = {
    "title": "Drip tray",
    "customer": "Hill Street Turning",
    "machine": "Bench lathe 3",
    "material": {"alloy": "5052-H32", "thickness": 1.5},
    "shape": {
        "family": "fall-tray",
        "rim": [[0, 0], [884, -6], [871, 433], [-5, 420]],
        "low_point": [602, 171],
        "depth": 57,
        "outlet": {"bore": 32},
    },
    "making": {"effort": "quick"},
    "stock": [{"length": 2440, "width": 1220, "price": "118.00"}],
}
HEADING = Heading(
    "Mill Lane", "J-0042", "1", "K7QF", "25 November 2026", "4 December 2026", "http://192.168.1.20:8000/jobs/42"
)


def main(rounds: int) -> None:
    templates = Engine(dirs=[str(ROOT / "templates")])

    def render(name: str, context: Mapping[str, object]) -> str:
        return str(templates.get_template(name).render(Context(dict(context))))

    plan = calc.plan(TRAY)
    pdf = traveller_pdf(plan, HEADING, Display(), render, money=True)  # the first one also loads the fonts
    whole, busy, drawn = [], [], []
    for _ in range(rounds):
        begun, used = time.perf_counter(), time.process_time()
        traveller_pdf(plan, HEADING, Display(), render, money=True)
        whole.append(time.perf_counter() - begun)
        busy.append(time.process_time() - used)
        begun = time.perf_counter()
        traveller_html(plan, HEADING, Display(), render, money=True)
        drawn.append(time.perf_counter() - begun)
    with pdfplumber.open(io.BytesIO(pdf)) as book:
        pages = len(book.pages)
    print(
        f"traveller of {pages} pages, {len(pdf) / 1000:.0f} kB, {rounds} rounds: median {statistics.median(whole):.2f} s"
    )
    print(
        f"  of processor time {statistics.median(busy):.2f} s; HTML and drawings {statistics.median(drawn) * 1000:.0f} ms"
    )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 9)
