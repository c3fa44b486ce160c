"""The opening in the bench: set out from a tray as it was measured, never from the drawing."""

import re
from collections.abc import Callable
from typing import Any
from uuid import uuid4

import pytest
from django.core.cache import cache
from django.db import IntegrityError
from django.test import Client

import calc
from calc.papers.aperture_paper import NotToBeCutError
from fabjobs import papers, planning
from fabjobs.aperture import opening_of
from fabjobs.as_built import Trays
from fabjobs.models import Aperture, Fabrication, Person, ShopSettings, Step
from fabjobs.services import aperture_set_out, as_built_add, job_create
from fabjobs.services.once import SentBefore
from tests.conftest import SHEET

PAGE, FIRST = "/jobs/1/aperture/", "/jobs/1/aperture/1/"
Headers = Callable[..., dict[str, str]]

# 800 by 600 with an upstand: its outer face is one thickness (1.5 mm) outside the rim, and with 1 mm clearance the opening
# is cut 2.5 mm outside it all round: 805 by 605, its diagonal the root of 805² + 605² = 1007.0.
UPSTAND = {
    "family": "fall-tray",
    "rim": [[0, 0], [800, 0], [800, 600], [0, 600]],
    "low_point": [530, 210],
    "depth": 60,
    "rim_finish": {"kind": "upstand", "height": 25},
}
LAP = {**UPSTAND, "rim_finish": {"kind": "lap", "width": 20}}
BARE = {key: value for key, value in UPSTAND.items() if key != "rim_finish"}
PAN = {"family": "pan", "length": 400, "width": 260, "height": 50, "fall": 8}
MEASURED = {
    "side-1-2": 800.0, "side-2-3": 600.0, "side-3-4": 800.0, "side-4-1": 600.0, "diagonal-1-3": 1000.0,
    "diagonal-2-4": 1000.0,
}  # fmt: skip
PLACED = {
    "corner": "1", "end": "left", "from_end": "100", "from_edge": "60", "from_edge_next": "60", "clearance": "1",
    "cutter_radius": "3", "bench_thickness": "4",
}  # fmt: skip
FIGURES: dict[str, Any] = {
    "corner": 1, "end": "left", "from_end": 100.0, "from_edge": 60.0, "from_edge_next": 60.0, "clearance": 1.0,
    "cutter_radius": 3.0, "bench_thickness": 4.0,
}  # fmt: skip


def sent(**change: str) -> dict[str, str]:
    return {"form_key": str(uuid4()), **PLACED, **change}


@pytest.fixture(autouse=True)
def nothing_kept() -> None:
    cache.clear()


@pytest.fixture
def make(owner: Person) -> Callable[..., Fabrication]:
    def made(shape: dict[str, Any], *, measured: dict[str, float] | None = MEASURED, **sheet: Any) -> Fabrication:
        """A job of this shape; its first tray measured so."""
        job = job_create(plan=calc.plan({**SHEET, "shape": shape, **sheet}), due_day=None, by=owner)
        fabrication: Fabrication = job.fabrications.get()
        if measured:
            measure(fabrication, owner, **measured)
        return fabrication

    return made


def measure(fabrication: Fabrication, by: Person, *, copy: int = 1, **change: float) -> None:
    keep(fabrication, by, {**MEASURED, **change}, copy=copy)


def keep(fabrication: Fabrication, by: Person, measured: dict[str, float], *, copy: int = 1) -> None:
    given: dict[str, Any] = {"copy": copy, "measured": measured, "revision": 1}
    as_built_add(fabrication=fabrication, **given, by=by, form_key=uuid4())


@pytest.fixture
def standing(make: Callable[..., Fabrication]) -> Fabrication:
    return make(UPSTAND)


def words(page: str) -> str:
    return " ".join(re.sub(r"<[^>]*>", " ", page).split())


# From the tray as measured


def test_without_a_measured_tray_it_says_to_measure_it_first(
    signed_in: Client, make: Callable[..., Fabrication]
) -> None:
    make(UPSTAND, measured=None)
    page = signed_in.get(FIRST).content.decode()
    assert "Measure the tray first." in page
    assert 'href="/jobs/1/as-built/1/">Measure the tray as built</a>' in page
    assert "from_end" not in page
    answer = signed_in.post(FIRST, sent())
    assert answer.status_code == 409
    assert "measure it first" in answer.content.decode()
    assert not Aperture.objects.exists()


def test_the_first_tray_that_is_measured_is_led_to(
    signed_in: Client, make: Callable[..., Fabrication], owner: Person
) -> None:
    made = make(UPSTAND, measured=None, quantity=3)
    assert signed_in.get(PAGE)["Location"] == FIRST
    measure(made, owner, copy=2)
    assert signed_in.get(PAGE)["Location"] == "/jobs/1/aperture/2/"


def test_it_is_set_out_from_the_benchs_end_and_edge(signed_in: Client, standing: Fabrication, owner: Person) -> None:
    answer = signed_in.post(FIRST, sent())
    assert (answer.status_code, answer["Location"]) == (302, FIRST)
    row = Aperture.objects.get()
    assert (row.fabrication, row.copy, row.by, row.from_end, row.bench_thickness) == (standing, 1, owner, 100, 4)
    page = words(signed_in.get(FIRST).content.decode())
    for corner, along, square in (
        (1, "97.5", "57.5"),
        (2, "902.5", "57.5"),
        (3, "902.5", "662.5"),
        (4, "97.5", "662.5"),
    ):
        assert f" {corner} {along} {square} " in page
    assert "1 – 2 805 2 – 3 605 3 – 4 805 4 – 1 605 1 – 3 1007 2 – 4 1007" in page
    assert "Do not cut" not in page
    assert "Set out by edda" in page


def test_a_tray_that_came_out_larger_gets_a_larger_opening(
    signed_in: Client, standing: Fabrication, owner: Person
) -> None:
    signed_in.post(FIRST, sent())
    # 804 by 603: by Pythagoras its diagonals are 1005
    larger = {"side-1-2": 804.0, "side-2-3": 603.0, "side-3-4": 804.0, "side-4-1": 603.0}
    measure(standing, owner, **larger, **{"diagonal-1-3": 1005.0, "diagonal-2-4": 1005.0})
    page = words(signed_in.get(FIRST).content.decode())
    assert "1 – 2 809 2 – 3 608 3 – 4 809 4 – 1 608" in page


def test_from_the_right_hand_it_is_the_same_mirrored(signed_in: Client, standing: Fabrication) -> None:
    # corner 1 is 900 from the right hand's end, corner 2 100
    signed_in.post(FIRST, sent(end="right", from_end="900"))
    page = words(signed_in.get(FIRST).content.decode())
    for corner, along in ((1, "902.5"), (2, "97.5"), (3, "97.5"), (4, "902.5")):
        assert f" {corner} {along} " in page


def test_little_bench_left_is_cautioned(signed_in: Client, standing: Fabrication) -> None:
    # 10 mm to the rim, the opening 2.5 mm nearer; three times 4 mm of bench is 12
    signed_in.post(FIRST, sent(from_edge="10", from_edge_next="10"))
    page = signed_in.get(FIRST).content.decode().replace("&#x27;", "'")
    assert "Only 7.5 mm of the bench would be left between its edge and corner 1" in page
    assert "less than 12 mm is left" in page
    assert "Do not cut" not in page


def test_the_corners_to_measure_to_are_those_of_the_tray_that_was_measured(
    signed_in: Client, standing: Fabrication, owner: Person
) -> None:
    five = [[0, 0], [800, 0], [800, 600], [400, 700], [0, 600]]
    planning.store(fabrication=standing, plan=calc.plan({**SHEET, "shape": {**UPSTAND, "rim": five}}), by=owner)
    page = signed_in.get(FIRST).content.decode()
    assert "4, side 4–1" in page
    assert "side 4–5" not in page


# What must not be cut


def assert_not_to_be_cut(client: Client, told: str) -> None:
    page = client.get(FIRST).content.decode().replace("&#x27;", "'")
    assert re.search(rf'<p class="must-not">Do not cut\. {told}', page)
    assert page.index("must-not") < page.index("<table")
    assert 'class="go" href="/jobs/1/as-built/1/">Measure it again</a>' in page
    assert "sheet.pdf" not in page
    assert "template.pdf" not in page
    for kind in ("sheet", "template"):
        answer = client.get(f"{FIRST}{kind}.pdf")
        assert answer.status_code == 409
        assert "Do not cut" in answer.content.decode()


def test_from_a_measurement_that_looks_wrong_nothing_is_cut_until_it_is_read_again(
    signed_in: Client, make: Callable[..., Fabrication], owner: Person
) -> None:
    # 900 by 400, side 1-2 read 20 mm long: the opening would be cut up to 4 mm inside the tray
    shape = {**BARE, "rim": [[0, 0], [900, 0], [900, 400], [0, 400]], "low_point": [300, 200], "depth": 50}
    true = {"side-1-2": 900.0, "side-2-3": 400.0, "side-3-4": 900.0, "side-4-1": 400.0}
    true |= {"diagonal-1-3": 985.0, "diagonal-2-4": 985.0}  # the root of 900² + 400² is 984.9
    made = make(shape, measured={**true, "side-1-2": 920.0})
    page = signed_in.get(FIRST).content.decode()
    assert '<p class="looks-wrong">Side 1–2 looks 20 mm long' in page
    signed_in.post(FIRST, sent())
    assert_not_to_be_cut(signed_in, "Side 1–2 looks 20 mm long: the others say 900 mm")
    measure(made, owner, **true)
    page = signed_in.get(FIRST).content.decode()
    assert "Do not cut" not in page
    assert "sheet.pdf" in page


def test_what_reads_the_same_again_may_be_cut(signed_in: Client, standing: Fabrication, owner: Person) -> None:
    # only one diagonal, 12 mm long: nothing but the plan is against it
    leant = {key: size for key, size in MEASURED.items() if key != "diagonal-2-4"} | {"diagonal-1-3": 1012.0}
    signed_in.post(FIRST, sent())
    keep(standing, owner, leant)
    assert_not_to_be_cut(signed_in, "Diagonal 1–3 looks 12 mm long: 1000 mm was planned")
    keep(standing, owner, {**leant, "diagonal-1-3": 1011.0})
    page = signed_in.get(FIRST).content.decode()
    assert "Do not cut" not in page
    assert "sheet.pdf" in page


def test_from_a_tray_that_was_measured_by_another_plan_nothing_is_cut(
    signed_in: Client, standing: Fabrication, owner: Person
) -> None:
    signed_in.post(FIRST, sent())
    planning.store(fabrication=standing, plan=calc.plan({**SHEET, "shape": {**UPSTAND, "depth": 70}}), by=owner)
    assert_not_to_be_cut(
        signed_in, "It was measured by revision 1, and revision 2 asks for other sizes. Measure it again."
    )


def test_no_paper_is_made_of_an_opening_that_must_not_be_cut(
    signed_in: Client, standing: Fabrication, owner: Person
) -> None:
    signed_in.post(FIRST, sent())
    measure(standing, owner, **{"diagonal-1-3": 985.0})
    opening = opening_of(Trays.of(standing.revisions.get()).each[0])
    assert opening is not None
    with pytest.raises(NotToBeCutError, match="Diagonal 1–3 looks 15 mm short"):
        papers.of_opening(opening, ShopSettings(), "sheet", "A4")


def test_a_lap_that_would_not_cover_it_is_said_first_and_nothing_is_printed(
    signed_in: Client, make: Callable[..., Fabrication]
) -> None:
    make(LAP, measured={**MEASURED, "lap": 20.0})
    signed_in.post(FIRST, sent(clearance="15"))
    page = signed_in.get(FIRST).content.decode()
    assert re.search(r'<p class="must-not">Do not cut\. The lap, 20 mm wide, would lie on the bench by', page)
    assert page.index("must-not") < page.index("<table")
    assert "sheet.pdf" not in page
    for kind in ("sheet", "template"):
        answer = signed_in.get(f"{FIRST}{kind}.pdf")
        assert answer.status_code == 409
        assert "Do not cut" in answer.content.decode()


def test_a_lap_that_came_out_narrower_counts_as_it_was_measured(
    signed_in: Client, make: Callable[..., Fabrication], owner: Person
) -> None:
    made = make(LAP, measured={**MEASURED, "lap": 20.0})
    signed_in.post(FIRST, sent())
    assert "Do not cut" not in signed_in.get(FIRST).content.decode()
    measure(made, owner, lap=11.0)
    assert "Do not cut. The lap, 11 mm wide" in signed_in.get(FIRST).content.decode()


def test_an_upstand_lower_than_the_bench_is_thick(signed_in: Client, standing: Fabrication) -> None:
    signed_in.post(FIRST, sent(bench_thickness="30"))
    assert "Do not cut. The upstand, 25 mm high, does not come through a bench 30 mm thick" in (
        signed_in.get(FIRST).content.decode()
    )


def test_a_tray_that_no_longer_lies_there_is_told(signed_in: Client, standing: Fabrication, owner: Person) -> None:
    aperture_set_out(
        fabrication=standing,
        copy=1,
        figures={**FIGURES, "from_edge": 1.0, "from_edge_next": 1.0},
        by=owner,
        form_key=uuid4(),
    )
    page = words(signed_in.get(FIRST).content.decode())
    assert "Do not cut. Corner 1 of the opening would lie past the bench's edge" in page.replace("&#x27;", "'")


# The form


def test_it_begins_with_the_usual_figures_and_the_bench_of_the_sheet(
    signed_in: Client, make: Callable[..., Fabrication]
) -> None:
    make(UPSTAND, bench={"thickness": 6})
    page = signed_in.get(FIRST).content.decode()
    for name, value in {"clearance": "1", "cutter_radius": "3", "bench_thickness": "6"}.items():
        assert f'name="{name}" value="{value}"' in page


def test_the_figures_used_last_stand_there_and_the_cutter_for_the_next_tray_too(
    signed_in: Client, make: Callable[..., Fabrication], owner: Person
) -> None:
    made = make(UPSTAND, quantity=2)
    measure(made, owner, copy=2)
    signed_in.post(FIRST, sent(clearance="2", from_end="140"))
    own, other = (signed_in.get(path).content.decode() for path in (FIRST, "/jobs/1/aperture/2/"))
    assert 'name="clearance" value="2"' in own
    assert 'name="clearance" value="2"' in other
    assert 'name="from_end" value="140"' in own
    assert 'name="from_end" value="140"' not in other  # two can't be let in at one place
    assert "Set out by" not in other


@pytest.mark.parametrize(
    ("change", "at", "told"),
    [
        ({"from_end": ""}, "from_end", "Not given yet."),
        ({"from_end": "far"}, "from_end", "no number"),
        ({"from_edge": "-5"}, "from_edge", "must be 0 mm to 100000 mm (got -5 mm)"),
        ({"clearance": "21"}, "clearance", "must be 0 mm to 20 mm (got 21 mm)"),
        ({"cutter_radius": "-1"}, "cutter_radius", "must be 0 mm to 100 mm"),
        ({"bench_thickness": "0"}, "bench_thickness", "must be 0.1 mm to 100 mm"),
        ({"corner": "5"}, "corner", "not one of the available choices"),
        ({"end": "top"}, "end", "not one of the available choices"),
        ({"from_edge": "1", "from_edge_next": "1"}, "from_edge", "past the bench's edge"),
        ({"from_end": "1"}, "from_end", "past the bench's end"),
        ({"from_edge_next": "900"}, "from_edge_next", "more than the side is long"),  # 840 apart on a side of 800
    ],
)
def test_what_can_not_be_is_said_at_its_figure_and_nothing_is_lost(
    signed_in: Client, standing: Fabrication, change: dict[str, str], at: str, told: str
) -> None:
    answer = signed_in.post(FIRST, sent(**change))
    page = answer.content.decode().replace("&#x27;", "'")
    assert answer.status_code == 422
    fault = re.search(rf'id="id_aperture_{at}_error">([^<]*)<', page)
    assert fault
    assert told in fault[1]
    typed = {name: text for name, text in PLACED.items() if name not in ("corner", "end", *change)}
    assert all(f'name="{name}" value="{text}"' in page for name, text in typed.items())
    assert not Aperture.objects.exists()


def test_a_form_that_is_not_whole(signed_in: Client, standing: Fabrication) -> None:
    answer = signed_in.post(FIRST, sent(form_key="7"))
    assert answer.status_code == 422
    assert "That form was not whole." in answer.content.decode()


def test_the_same_form_twice_makes_one_line_and_with_others_is_refused(
    signed_in: Client, standing: Fabrication
) -> None:
    form = sent()
    assert [signed_in.post(FIRST, form).status_code for _ in range(2)] == [302, 302]
    answer = signed_in.post(FIRST, {**form, "from_end": "130"})
    assert answer.status_code == 409
    assert "This form was sent already" in answer.content.decode()
    assert 'name="from_end" value="130"' in answer.content.decode()
    assert Aperture.objects.count() == 1


def test_htmx_gets_the_part(signed_in: Client, standing: Fabrication, htmx: Headers) -> None:
    refused = signed_in.post(FIRST, sent(from_end=""), headers=htmx())
    answer = signed_in.post(FIRST, sent(), headers=htmx())
    assert (refused.status_code, answer.status_code) == (422, 200)
    assert all(each.content.decode().lstrip().startswith('<div id="opening"') for each in (refused, answer))


# On paper


@pytest.mark.skipif(bool(papers.lacking()), reason="papers need Pango")
@pytest.mark.parametrize("shape", [UPSTAND, LAP, BARE], ids=["upstand", "lap", "bare"])
def test_it_is_printed_the_same_each_time(
    signed_in: Client, make: Callable[..., Fabrication], shape: dict[str, Any]
) -> None:
    make(shape)
    signed_in.post(FIRST, sent())
    for path in ("sheet.pdf", "template.pdf?paper=A3", "template.pdf?paper=Letter"):
        first, again = (signed_in.get(f"{FIRST}{path}") for _ in range(2))
        assert (first.status_code, first["Content-Type"]) == (200, "application/pdf")
        assert first.content.startswith(b"%PDF")
        assert first.content == again.content
        assert re.search(r'inline; filename="job-1-tray-1-opening[-.]', first["Content-Disposition"])


def test_without_pango_it_is_told(signed_in: Client, standing: Fabrication, monkeypatch: pytest.MonkeyPatch) -> None:
    signed_in.post(FIRST, sent())
    monkeypatch.setattr(papers, "lacking", lambda: papers.LACKING)
    answer = signed_in.get(f"{FIRST}sheet.pdf")
    assert answer.status_code == 503
    assert "Pango" in answer.content.decode()


def test_nothing_is_printed_that_is_not_set_out_or_on_no_paper(signed_in: Client, standing: Fabrication) -> None:
    assert signed_in.get(f"{FIRST}sheet.pdf").status_code == 404
    signed_in.post(FIRST, sent())
    assert signed_in.get(f"{FIRST}template.pdf?paper=A9").status_code == 400


# Where it shows


def test_the_step_and_the_job_lead_there(signed_in: Client, standing: Fabrication) -> None:
    step = Step.objects.get(key="aperture:rim")
    for page in ("/jobs/1/", f"/jobs/1/steps/{step.pk}/"):
        assert f'href="{PAGE}">Set it out</a>' in signed_in.get(page).content.decode()
    assert f'href="{PAGE}">The opening in the bench</a>' in signed_in.get("/jobs/1/").content.decode()


def at_work(client: Client) -> str:
    """The page of the step, at the work."""
    step = Step.objects.get(key="aperture:rim", retired=False)
    answer = client.get(f"/jobs/1/at-work/{step.pk}/")
    assert answer.status_code == 200
    return words(answer.content.decode())


AS_DRAWN, AS_SET_OUT = "800", "805"  # [mm] side 1-2 of the rim, and of its opening: 2.5 mm outside it at either end


def test_at_the_work_the_opening_is_drawn_as_it_was_set_out(signed_in: Client, standing: Fabrication) -> None:
    signed_in.post(FIRST, sent())
    page = at_work(signed_in)
    assert "The opening in the bench, 4 corners" in page
    assert re.search(rf"\b{AS_SET_OUT}\b", page)
    assert not re.search(rf"\b{AS_DRAWN}\b", page)
    assert "Not measured yet" not in page


def test_at_the_work_of_what_is_not_measured_no_length_is_drawn(
    signed_in: Client, make: Callable[..., Fabrication], owner: Person
) -> None:
    made = make(UPSTAND, measured=None, quantity=2)
    step = Step.objects.get(key="aperture:rim")
    page = at_work(signed_in)
    assert page.count("Not measured yet") == 2
    assert not re.search(rf"\b({AS_DRAWN}|{AS_SET_OUT})\b", page)
    measure(made, owner, copy=2)
    answer = signed_in.get(f"/jobs/1/at-work/{step.pk}/").content.decode()
    assert 'href="/jobs/1/as-built/1/">Measure it as built</a>' in answer
    assert "Measured, but not set out yet." in answer
    assert 'href="/jobs/1/aperture/2/">Set it out</a>' in answer
    assert not re.search(rf"\b({AS_DRAWN}|{AS_SET_OUT})\b", words(answer))


def test_at_the_work_what_must_not_be_cut_is_not_drawn(signed_in: Client, standing: Fabrication, owner: Person) -> None:
    signed_in.post(FIRST, sent())
    planning.store(fabrication=standing, plan=calc.plan({**SHEET, "shape": {**UPSTAND, "depth": 70}}), by=owner)
    page = at_work(signed_in)
    assert "Do not cut. It was measured by revision 1, and revision 2 asks for other sizes." in page
    assert "The opening in the bench, 4 corners" not in page


def test_a_pan_stands_free_and_has_none(signed_in: Client, make: Callable[..., Fabrication]) -> None:
    make(PAN, measured=None)
    answer = signed_in.get(FIRST)
    assert answer.status_code == 200
    assert "this pan stands free" in words(answer.content.decode())
    assert signed_in.post(FIRST, sent()).status_code == 409
    assert PAGE not in signed_in.get("/jobs/1/").content.decode()
    assert not Aperture.objects.exists()


# The rows


def test_a_line_is_never_changed_and_its_rules_hold(standing: Fabrication, owner: Person) -> None:
    given: dict[str, Any] = {"fabrication": standing, "by": owner, "copy": 1}
    aperture_set_out(**given, figures=FIGURES, form_key=uuid4())
    with pytest.raises(IntegrityError, match="never changed"):
        Aperture.objects.update(from_end=5)


@pytest.mark.parametrize(
    "change", [{"corner": 0}, {"clearance": -1}, {"cutter_radius": -1}, {"bench_thickness": 0}, {"end": "top"}]
)
def test_the_rules_of_a_line_hold_in_the_database(standing: Fabrication, owner: Person, change: dict[str, Any]) -> None:
    with pytest.raises(IntegrityError):
        Aperture.objects.create(fabrication=standing, by=owner, copy=1, **FIGURES | change)


def test_the_service_keeps_one_line_a_form(standing: Fabrication, owner: Person) -> None:
    given: dict[str, Any] = {"fabrication": standing, "by": owner, "copy": 1, "form_key": uuid4()}
    assert aperture_set_out(**given, figures=FIGURES) == aperture_set_out(**given, figures=FIGURES)
    with pytest.raises(SentBefore):
        aperture_set_out(**given, figures={**FIGURES, "from_end": 1.0})


# Refused


def test_a_job_or_tray_that_is_not_there(signed_in: Client, standing: Fabrication) -> None:
    for path in ("/jobs/9/aperture/", "/jobs/9/aperture/1/", "/jobs/1/aperture/2/", "/jobs/1/aperture/2/sheet.pdf"):
        assert signed_in.get(path).status_code == 404
    assert signed_in.post("/jobs/1/aperture/2/", sent()).status_code == 404


def test_wrong_method(signed_in: Client, standing: Fabrication) -> None:
    assert signed_in.post(PAGE, sent()).status_code == 405
    assert signed_in.put(FIRST).status_code == 405
    assert signed_in.post(f"{FIRST}sheet.pdf").status_code == 405


def test_signed_out(standing: Fabrication) -> None:
    for answer in (
        Client().get(PAGE),
        Client().get(FIRST),
        Client().post(FIRST, sent()),
        Client().get(f"{FIRST}sheet.pdf"),
    ):
        assert answer.status_code == 302
        assert answer["Location"].startswith("/sign-in")
    assert not Aperture.objects.exists()


def test_refused_figures_are_told_above_what_stands_from_before(
    signed_in: Client, make: Callable[..., Fabrication]
) -> None:
    make(UPSTAND)
    signed_in.post("/jobs/1/aperture/1/", sent())
    answer = signed_in.post("/jobs/1/aperture/1/", sent(cutter_radius="wide"))
    assert answer.status_code == 422
    page = answer.content.decode()
    assert page.index("Not set out.") < page.index("<table")
    assert "what stands here is from before" in page
