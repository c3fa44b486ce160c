"""A tray as it is measured after welding: typed in, fitted, kept; measured again, the newest stands."""

import math
import re
from collections.abc import Callable
from typing import Any
from uuid import uuid4

import pytest
from django.core.cache import cache
from django.db import IntegrityError, connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

import calc
from fabjobs import planning
from fabjobs.as_built import Made, fit_standing
from fabjobs.models import AsBuilt, Fabrication, Job, Person, Revision, ShopSettings, Step
from fabjobs.services import as_built_add, job_create
from fabjobs.services.metal import PlannedAnew
from fabjobs.services.once import SentBefore
from tests.conftest import SHEET
from tests.fabjobs.changing import tick

PAGE, FIRST = "/jobs/1/as-built/", "/jobs/1/as-built/1/"
Headers = Callable[..., dict[str, str]]

# The tray of the tests: rim (0, 0), (812, 9), (797, 391), (-14, 402), 48 deep. Its sides and diagonals by Pythagoras:
#   1-2: sqrt(812² + 9²) = 812.05   2-3: sqrt(15² + 382²) = 382.29   3-4: sqrt(811² + 11²) = 811.07
#   4-1: sqrt(14² + 402²) = 402.24  1-3: sqrt(797² + 391²) = 887.74  2-4: sqrt(826² + 393²) = 914.73
RIM = SHEET["shape"]["rim"]
SIZES = {
    f"{kind}-{i + 1}-{j + 1}": math.dist(RIM[i], RIM[j])
    for kind, i, j in (
        ("side", 0, 1), ("side", 1, 2), ("side", 2, 3), ("side", 3, 0), ("diagonal", 0, 2), ("diagonal", 1, 3),
    )
} | {"depth": 48.0}  # fmt: skip
TAPED = {
    "side-1-2": "812", "side-2-3": "382.5", "side-3-4": "811", "side-4-1": "402",
    "diagonal-1-3": "888", "diagonal-2-4": "914.5", "depth": "48",
}  # fmt: skip
WRONG = {**TAPED, "diagonal-1-3": "878"}  # one read 10 mm short


def sent(**change: str) -> dict[str, str]:
    return {"form_key": str(uuid4()), "revision": "1", "note": "", **TAPED, **change}


@pytest.fixture(autouse=True)
def nothing_kept() -> None:
    cache.clear()


@pytest.fixture
def fabrication(job: Job) -> Fabrication:
    return job.fabrications.get()


@pytest.fixture
def two(owner: Person) -> Job:
    """A job that makes two of the tray."""
    return job_create(plan=calc.plan({**SHEET, "quantity": 2}), due_day=None, by=owner)


def words(page: str) -> str:
    """The page without its markup."""
    return " ".join(re.sub(r"<[^>]*>", " ", page).split())


# The page


def test_it_asks_for_every_size_of_the_inspection_table_with_its_tolerance(signed_in: Client, job: Job) -> None:
    page = signed_in.get(FIRST).content.decode()
    assert [name for name in re.findall(r'name="([^"]*)"', page) if name in SIZES] == list(SIZES)
    # ISO 13920 class B: 400 to 1000 mm ± 3, 120 to 400 mm ± 2, 30 to 120 mm ± 2
    assert "812 mm, ± 3 mm" in page
    assert "382.5 mm, ± 2 mm" in page
    assert "48 mm, ± 2 mm; may be left out" in page
    assert "Every size, planned and as built" not in page


def test_the_next_tray_to_measure_is_led_to(signed_in: Client, two: Job) -> None:
    assert signed_in.get(PAGE)["Location"] == FIRST
    signed_in.post(FIRST, sent())
    assert signed_in.get(PAGE)["Location"] == "/jobs/1/as-built/2/"
    assert "measured" in words(signed_in.get("/jobs/1/as-built/2/").content.decode())


def test_it_is_kept_as_it_was_taped_with_who_and_when(
    signed_in: Client, job: Job, fabrication: Fabrication, owner: Person
) -> None:
    answer = signed_in.post(FIRST, sent(note="Cold, next morning"))
    assert (answer.status_code, answer["Location"]) == (302, FIRST)
    line = AsBuilt.objects.get()
    assert (line.fabrication, line.copy, line.by, line.note) == (fabrication, 1, owner, "Cold, next morning")
    assert line.measured == {key: float(typed) for key, typed in TAPED.items()}
    assert line.revision.number == 1
    page = words(signed_in.get(FIRST).content.decode())
    assert "✓ Within ISO 13920 class B" in page
    assert "Measured by edda" in page
    assert "Cold, next morning" in page


def test_before_the_seams_are_ticked_it_says_that_it_tells_nothing_of_welding(
    signed_in: Client, job: Job, fabrication: Fabrication, owner: Person
) -> None:
    told = "Not ticked as welded. Measured before welding, a tray says nothing of what welding pulls."
    assert told in words(signed_in.get(FIRST).content.decode())
    signed_in.post(FIRST, sent())
    page = words(signed_in.get(FIRST).content.decode())
    assert told in page
    assert "If it was not welded yet, measure it again when it is." in page
    for step in fabrication.steps.filter(kind="weld"):
        tick(step, owner)
    assert "Not ticked as welded" not in words(signed_in.get(FIRST).content.decode())


def test_every_size_stands_there_with_how_far_it_is_off(signed_in: Client, job: Job) -> None:
    signed_in.post(FIRST, sent())
    page = words(signed_in.get(FIRST).content.decode())
    assert "Side 4–1 402 402 −0.2 ± 3" in page  # 402 - 402.24
    assert "Diagonal 2–4 914.5 914.5 −0.2 ± 3" in page  # 914.5 - 914.73
    assert "Depth below the rim 48 48 0.0 ± 2 –" in page


def test_a_wrong_figure_is_said_first_and_asked_for_again(signed_in: Client, job: Job) -> None:
    signed_in.post(FIRST, sent(**WRONG))
    page = signed_in.get(FIRST).content.decode()
    assert AsBuilt.objects.count() == 1
    assert re.search(r'<p class="looks-wrong">Diagonal 1–3 looks .* short: .*Measure it again', page)
    assert page.index("looks-wrong") < page.index("ISO 13920 class") < page.index("<table")
    assert re.search(r'<details class="again" open>', page)
    assert re.search(r'class="ask short suspect">\s*<label for="id_as_built_diagonal-1-3"', page)
    assert 'name="side-2-3" value="382.5"' in page
    # what looks wrong is to be read again, not sent again
    assert 'name="diagonal-1-3" value' not in page
    assert "; read as 878 before" in page


def test_measured_again_the_newest_stands_and_the_older_stays_listed(signed_in: Client, job: Job) -> None:
    signed_in.post(FIRST, sent(**WRONG, note="In a hurry"))
    signed_in.post(FIRST, sent())
    assert [line.measured["diagonal-1-3"] for line in AsBuilt.objects.order_by("pk")] == [878, 888]
    page = signed_in.get(FIRST).content.decode()
    assert "looks-wrong" not in page
    assert "✓ Within ISO 13920" in words(page)
    earlier = words(page[page.index("Measured before") :])
    assert "Diagonal 1–3 878" in earlier
    assert "In a hurry" in earlier


LEANT = {**TAPED, "diagonal-1-3": "900", "diagonal-2-4": ""}  # 12 mm long, and no second diagonal to prove it by


def test_read_the_same_again_it_stands(signed_in: Client, job: Job) -> None:
    signed_in.post(FIRST, sent(**LEANT))
    page = signed_in.get(FIRST).content.decode()
    assert "Diagonal 1–3 looks 12" in page
    assert "If it reads the same, that is how it was made, and it stands." in page
    signed_in.post(FIRST, sent(**LEANT | {"diagonal-1-3": "899"}))
    page = signed_in.get(FIRST).content.decode()
    assert "looks-wrong" not in page
    assert "✗ Not within ISO 13920 class B" in words(page)
    signed_in.post(FIRST, sent(**LEANT | {"depth": "49"}))  # and stays so when something else is measured
    assert "looks-wrong" not in signed_in.get(FIRST).content.decode()


def test_a_standing_line_is_fitted_with_what_was_read_twice(signed_in: Client, job: Job, plan: calc.Plan) -> None:
    by = Made(Revision.objects.get(), plan)
    signed_in.post(FIRST, sent(**LEANT))
    fit = fit_standing(AsBuilt.objects.latest("pk"), by)
    assert fit is not None
    assert fit.suspect is not None
    signed_in.post(FIRST, sent(**LEANT))
    fit = fit_standing(AsBuilt.objects.latest("pk"), by)
    assert fit is not None
    assert fit.suspect is None
    first = fit_standing(AsBuilt.objects.earliest("pk"), by)  # as it stood then
    assert first is not None
    assert first.suspect is not None


def test_read_otherwise_again_it_is_asked_for_once_more(signed_in: Client, job: Job) -> None:
    signed_in.post(FIRST, sent(**LEANT))
    signed_in.post(FIRST, sent(**LEANT | {"diagonal-1-3": "905"}))
    assert "Diagonal 1–3 looks 17" in signed_in.get(FIRST).content.decode()


def test_what_was_not_asked_for_again_is_not_confirmed_by_standing_there(signed_in: Client, job: Job) -> None:
    both = LEANT | {"depth": "68"}
    for told in ("Depth below the rim looks 20 mm over", "Diagonal 1–3 looks"):
        signed_in.post(FIRST, sent(**both))
        assert f'<p class="looks-wrong">{told}' in signed_in.get(FIRST).content.decode()
    signed_in.post(FIRST, sent(**both))
    assert "looks-wrong" not in signed_in.get(FIRST).content.decode()


def test_out_of_tolerance_it_does_not_pass_and_says_what_is_furthest_off(signed_in: Client, job: Job) -> None:
    larger = {key: f"{size + 5:.1f}" for key, size in SIZES.items() if key != "depth"}
    signed_in.post(FIRST, sent(**larger))
    page = words(signed_in.get(FIRST).content.decode())
    assert "✗ Not within ISO 13920 class B" in page
    assert "furthest off: Side 2–3, +5.0 of ± 2" in page  # the tightest of those that are 5 mm out


def test_each_tray_stands_for_itself(signed_in: Client, two: Job) -> None:
    signed_in.post(FIRST, sent())
    signed_in.post("/jobs/1/as-built/2/", sent(**WRONG))
    assert "looks-wrong" not in signed_in.get(FIRST).content.decode()
    assert "looks-wrong" in signed_in.get("/jobs/1/as-built/2/").content.decode()


def test_a_shop_in_inches_types_and_reads_inches(signed_in: Client, job: Job) -> None:
    ShopSettings.objects.update(unit="in", rule="1/16")
    inches = {
        key: str(round(size / 25.4 * 16) // 16) + " " + str(round(size / 25.4 * 16) % 16) + "/16"
        for key, size in SIZES.items()
    }
    signed_in.post(FIRST, sent(**inches))
    line = AsBuilt.objects.get()
    # 812.05 mm is 31.97 in, on the rule 31 16/16 in: 32 in
    assert line.measured["side-2-3"] == pytest.approx(15 * 25.4 + 25.4 / 16)  # 382.29 mm: 15 1/16 in
    page = signed_in.get(FIRST).content.decode()
    assert 'name="side-2-3" value="15 1/16"' in page
    assert "A bare figure is in inches." in page


@pytest.mark.parametrize(("unit", "rule", "keys"), [("mm", "0.5", "decimal"), ("in", "1/16", None)])
def test_a_phone_has_the_keys_for_what_is_read_off_the_tape(
    signed_in: Client, job: Job, unit: str, rule: str, keys: str | None
) -> None:
    """Inches need signs that a phone's keys for figures have not: 3'-0 1/2"."""
    ShopSettings.objects.update(unit=unit, rule=rule)
    signed_in.post(FIRST, sent(**{key: f"{length} mm" for key, length in TAPED.items()}))
    for path, name in ((FIRST, "side-2-3"), ("/jobs/1/aperture/1/", "from_end"), ("/rack/found", "length")):
        field = re.search(rf'<input [^>]*name="{name}"[^>]*>', signed_in.get(path).content.decode())
        assert field
        told = re.search(r'inputmode="(\w+)"', field[0])
        assert (told and told[1]) == keys, path
    words = re.search(r'<input [^>]*name="note"[^>]*>', signed_in.get(FIRST).content.decode())
    assert words
    assert "inputmode" not in words[0]


@pytest.mark.parametrize("typed", ["382.5 mm", "38.25 cm", "0.3825 m"])
def test_a_length_may_be_in_any_unit(signed_in: Client, job: Job, typed: str) -> None:
    signed_in.post(FIRST, sent(**{"side-2-3": typed}))
    assert AsBuilt.objects.get().measured["side-2-3"] == pytest.approx(382.5)


@pytest.mark.parametrize("left", ["depth", "diagonal-1-3", "diagonal-2-4"])
def test_the_depth_or_one_diagonal_may_be_left_out(signed_in: Client, job: Job, left: str) -> None:
    assert signed_in.post(FIRST, sent(**{left: ""})).status_code == 302
    assert left not in AsBuilt.objects.get().measured


def test_it_passes_only_for_what_was_measured(signed_in: Client, job: Job) -> None:
    within = "✓ Within ISO 13920 class B"
    signed_in.post(FIRST, sent(**{"diagonal-2-4": "", "depth": ""}))
    told = f"{within} of what was measured; not measured: diagonal 2–4, depth below the rim"
    for path in (FIRST, "/jobs/1/"):
        assert told in words(signed_in.get(path).content.decode())
    signed_in.post(FIRST, sent())
    page = words(signed_in.get(FIRST).content.decode())
    assert within in page
    assert "not measured" not in page


# What can't be


@pytest.mark.parametrize(
    ("change", "at", "told"),
    [
        ({"side-1-2": ""}, "side-1-2", "Not given yet."),
        ({"side-1-2": "long"}, "side-1-2", "no number"),
        ({"side-1-2": "0"}, "side-1-2", "must be 0.1 mm to 100000 mm (got 0 mm)"),
        ({"side-1-2": "1,200"}, "side-1-2", "may mark thousands or decimals"),
        ({"note": "x" * 501}, "note", "at most 500 characters"),
        ({"note": "a\u202eb"}, "note", "must be one line of plain text"),
    ],
)
def test_what_can_not_be_read_is_said_at_its_field_and_nothing_is_lost(
    signed_in: Client, job: Job, change: dict[str, str], at: str, told: str
) -> None:
    answer = signed_in.post(FIRST, sent(**change))
    page = answer.content.decode()
    assert answer.status_code == 422
    fault = re.search(rf'id="id_as_built_{at}_error">([^<]*)<', page)
    assert fault
    assert told in fault[1]
    assert all(f'value="{typed}"' in page for key, typed in TAPED.items() if key not in change)
    assert not AsBuilt.objects.exists()


@pytest.mark.parametrize(
    "change",
    [
        {"diagonal-1-3": "", "diagonal-2-4": ""},  # four sides alone can be leant over
        {"side-1-2": "81.2"},  # a slip of the point
        {"diagonal-1-3": "1250", "diagonal-2-4": ""},  # longer than sides 1-2 and 2-3 together: 812 + 382.5 = 1194.5
    ],
)
def test_what_gives_no_tray_is_said_at_a_length(signed_in: Client, job: Job, change: dict[str, str]) -> None:
    answer = signed_in.post(FIRST, sent(**change))
    page = answer.content.decode()
    assert answer.status_code == 422
    assert any(re.search(rf'id="id_as_built_{key}_error">[^<]+<', page) for key in change)
    assert not AsBuilt.objects.exists()


@pytest.mark.parametrize("change", [{"form_key": "7"}, {"form_key": ""}, {"revision": ""}, {"revision": "x"}])
def test_a_form_that_is_not_whole(signed_in: Client, job: Job, change: dict[str, str]) -> None:
    answer = signed_in.post(FIRST, sent() | change)
    assert answer.status_code == 422
    assert "That form was not whole." in answer.content.decode()
    assert not AsBuilt.objects.exists()


def test_the_same_form_twice_makes_one_line(signed_in: Client, job: Job) -> None:
    form = sent()
    assert [signed_in.post(FIRST, form).status_code for _ in range(2)] == [302, 302]
    assert AsBuilt.objects.count() == 1


def test_the_same_form_with_other_figures_is_refused_and_can_be_sent_once_more(signed_in: Client, job: Job) -> None:
    form = sent()
    signed_in.post(FIRST, form)
    answer = signed_in.post(FIRST, {**form, "depth": "47"})
    page = answer.content.decode()
    assert answer.status_code == 409
    assert "This form was sent already and made: tray 1 measured by edda" in page
    assert 'name="depth" value="47"' in page
    key = re.search(r'name="form_key" value="([^"]*)"', page[page.index('class="measure"') :])
    assert key
    assert key[1] != form["form_key"]
    assert signed_in.post(FIRST, {**form, "depth": "47", "form_key": key[1]}).status_code == 302
    assert AsBuilt.objects.count() == 2


def test_a_plan_that_came_meanwhile_is_told_and_nothing_typed_is_lost(
    signed_in: Client, job: Job, fabrication: Fabrication, plan: calc.Plan
) -> None:
    noor = Person.objects.create_user("noor")
    planning.store(fabrication=fabrication, plan=plan, by=noor)
    answer = signed_in.post(FIRST, sent(depth="47.5"))
    page = answer.content.decode()
    assert answer.status_code == 409
    assert "noor made revision 2" in page
    assert 'name="depth" value="47.5"' in page
    assert 'name="revision" value="2"' in page
    assert not AsBuilt.objects.exists()


def test_of_a_plan_with_other_sizes_it_is_to_be_measured_again(
    signed_in: Client, job: Job, fabrication: Fabrication, owner: Person, sheet: dict[str, Any]
) -> None:
    signed_in.post(FIRST, sent())
    sheet["making"]["kerf"] = 2.0
    planning.store(fabrication=fabrication, plan=calc.plan(sheet), by=owner)
    assert "asks for other sizes" not in signed_in.get(FIRST).content.decode()  # nothing that is measured changed
    sheet["shape"]["depth"] = 60
    planning.store(fabrication=fabrication, plan=calc.plan(sheet), by=owner)
    page = words(signed_in.get(FIRST).content.decode())
    assert "Measured by revision 1. Revision 3 asks for other sizes: measure it again." in page
    assert "✓ Within" in page  # by what it was made by


# The answer to htmx


def test_htmx_gets_the_part_with_the_result_or_the_form_at_fault(signed_in: Client, job: Job, htmx: Headers) -> None:
    refused = signed_in.post(FIRST, sent(depth="deep"), headers=htmx())
    assert (refused.status_code, refused.content.decode().lstrip()[:19]) == (422, '<div id="as-built" ')
    answer = signed_in.post(FIRST, sent(), headers=htmx())
    assert answer.status_code == 200
    assert answer.content.decode().lstrip().startswith('<div id="as-built"')
    assert "✓ Within" in words(answer.content.decode())


# Where it shows


def test_the_job_says_what_is_to_be_measured_then_how_it_stands(signed_in: Client, job: Job) -> None:
    page = signed_in.get("/jobs/1/").content.decode()
    part = words(page[page.index('aria-labelledby="fit"') : page.index('aria-labelledby="takeoff"')])
    assert "Diagonal 1–3 887.5 mm ± 3 mm" in part  # 887.745 on a rule of half a millimetre
    assert "Measure the tray as built" in part
    signed_in.post(FIRST, sent(**WRONG))
    page = signed_in.get("/jobs/1/").content.decode()
    part = words(page[page.index('aria-labelledby="fit"') : page.index('aria-labelledby="takeoff"')])
    assert "Diagonal 1–3 looks" in part
    assert "✗ Not within ISO 13920 class B" in part


def test_the_stages_of_a_job_are_numbered_through(signed_in: Client, job: Job) -> None:
    page = signed_in.get("/jobs/1/").content.decode()
    assert re.findall(r'class="balloon" aria-hidden="true">(\d)<', page) == list("12345678")


def test_the_step_leads_there(signed_in: Client, job: Job) -> None:
    step = Step.objects.get(key="check:as-built")
    for page in ("/jobs/1/", f"/jobs/1/steps/{step.pk}/"):
        assert f'href="{PAGE}">Write it down</a>' in signed_in.get(page).content.decode()


@pytest.mark.parametrize("path", ["/jobs/1/", FIRST, "/jobs/1/aperture/1/"])
def test_more_trays_and_lines_take_no_more_queries(signed_in: Client, owner: Person, path: str) -> None:
    job = job_create(plan=calc.plan({**SHEET, "quantity": 6}), due_day=None, by=owner)
    made = job.fabrications.get()
    counts = []
    for copies in (1, 4):
        for copy in range(1, copies + 1):
            for _ in range(copies):
                given: dict[str, Any] = {"fabrication": made, "copy": copy, "measured": SIZES, "revision": 1}
                as_built_add(**given, by=owner, form_key=uuid4())
        cache.clear()
        signed_in.get(path)
        with CaptureQueriesContext(connection) as queries:
            signed_in.get(path)
        counts.append(len(queries))
    assert counts[0] == counts[1]


# The rows


def test_a_line_is_never_changed(fabrication: Fabrication, owner: Person) -> None:
    as_built_add(fabrication=fabrication, copy=1, measured=SIZES, revision=1, by=owner, form_key=uuid4())
    with pytest.raises(IntegrityError, match="never changed"):
        AsBuilt.objects.update(note="other")


@pytest.mark.parametrize("change", [{"copy": 0}, {"measured": {}}])
def test_the_rules_of_a_line_hold_in_the_database(
    fabrication: Fabrication, owner: Person, change: dict[str, Any]
) -> None:
    revision = Revision.objects.get()
    given: dict[str, Any] = {
        "fabrication": fabrication,
        "revision": revision,
        "copy": 1,
        "measured": SIZES,
        "by": owner,
    }
    with pytest.raises(IntegrityError):
        AsBuilt.objects.create(**given | change)


def test_the_service_keeps_one_line_a_form_and_knows_its_plan(
    fabrication: Fabrication, owner: Person, plan: calc.Plan
) -> None:
    given: dict[str, Any] = {"fabrication": fabrication, "copy": 1, "measured": SIZES, "by": owner, "form_key": uuid4()}
    first = as_built_add(**given, revision=1)
    planning.store(fabrication=fabrication, plan=plan, by=owner)
    assert as_built_add(**given, revision=1) == first
    with pytest.raises(SentBefore):
        as_built_add(**{**given, "copy": 2}, revision=1)
    with pytest.raises(PlannedAnew, match="edda made revision 2"):
        as_built_add(**{**given, "form_key": uuid4()}, revision=1)


# Refused


def test_a_job_or_tray_that_is_not_there(signed_in: Client, job: Job) -> None:
    for path in ("/jobs/9/as-built/", "/jobs/9/as-built/1/", "/jobs/1/as-built/0/", "/jobs/1/as-built/2/"):
        assert signed_in.get(path).status_code == 404
    assert signed_in.post("/jobs/1/as-built/2/", sent()).status_code == 404
    assert not AsBuilt.objects.exists()


def test_loose_parts_are_not_measured(signed_in: Client, owner: Person) -> None:
    parts = {"family": "flat-parts", "parts": [{"name": "lid", "outline": [[0, 0], [300, 0], [300, 200], [0, 200]]}]}
    job_create(plan=calc.plan({**SHEET, "shape": parts}), due_day=None, by=owner)
    assert signed_in.get(PAGE).status_code == 404
    assert signed_in.post(FIRST, sent()).status_code == 404
    page = signed_in.get("/jobs/1/").content.decode()
    assert 'aria-labelledby="fit"' not in page
    assert re.findall(r'class="balloon" aria-hidden="true">(\d)<', page) == list("1234567")


def test_wrong_method(signed_in: Client, job: Job) -> None:
    assert signed_in.post(PAGE, sent()).status_code == 405
    assert signed_in.put(FIRST).status_code == 405


def test_signed_out(job: Job) -> None:
    for answer in (Client().get(PAGE), Client().get(FIRST), Client().post(FIRST, sent())):
        assert answer.status_code == 302
        assert answer["Location"].startswith("/sign-in")
    assert not AsBuilt.objects.exists()


def test_words_typed_are_shown_as_words(signed_in: Client, job: Job) -> None:
    signed_in.post(FIRST, sent(note='"><script>alert(1)</script>'))
    page = signed_in.get(FIRST).content.decode()
    assert "<script>alert(1)" not in page
    assert "&lt;script&gt;alert(1)" in page


def test_a_refused_measurement_is_told_above_what_stands_from_before(signed_in: Client, job: Job) -> None:
    signed_in.post(FIRST, sent(**LEANT))
    standing = signed_in.get(FIRST).content.decode()
    assert "If all was read right:" in standing  # a verdict on a doubtful reading says so
    answer = signed_in.post(FIRST, sent(**LEANT | {"side-1-2": "abc"}))
    assert answer.status_code == 422
    page = answer.content.decode()
    assert page.index("Not kept.") < page.index("<table")
