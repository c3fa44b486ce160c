"""Time and metal: lines logged, struck out, and set against the takeoff."""

import re
from collections.abc import Callable
from decimal import Decimal
from typing import Any
from uuid import UUID, uuid4

import pytest
from django.test import Client

import calc
from fabjobs import planning
from fabjobs.metal import MetalBook, PlannedOffcut, offcuts_to_return, planned_offcuts, planned_sheets
from fabjobs.models import (
    BoughtIn,
    Fabrication,
    Job,
    Person,
    Revision,
    ShopSettings,
    Spoiled,
    StockItem,
    StockMove,
)
from fabjobs.services import (
    LineIsStruck,
    NothingLeftToLog,
    blank_spoil,
    line_strike,
    offcut_return,
    offcuts_return_as_planned,
    sheet_use,
    sheets_use_as_planned,
    thing_buy,
)
from fabjobs.services.metal import PlannedAnew
from fabjobs.services.once import SentBefore
from tests.fabjobs.ledger import issued, returned

PAGE = "/jobs/1/metal/"
Headers = Callable[..., dict[str, str]]
DENSITY = 2680  # [kg/m3] 5052, handbooks


def sheet_form(**change: str) -> dict[str, str]:
    form = {"form_key": str(uuid4()), "count": "2", "label": "S1", "length": "2500", "width": "1250", "price": "96.00"}
    return form | change


FORMS: dict[str, dict[str, str]] = {
    "sheets": {"count": "2", "label": "S1", "length": "2500", "width": "1250", "price": "96.00"},
    "offcuts": {"count": "1", "length": "2100", "width": "600"},
    "spoiled": {"count": "1", "blank": "A", "why": "The guide slipped"},
    "bought": {"count": "3", "what": "Hose, a metre", "price": "7.35"},
}
LINES: dict[str, Any] = {
    "sheets": issued,
    "offcuts": returned,
    "spoiled": Spoiled.objects.all,
    "bought": BoughtIn.objects.all,
}


@pytest.fixture
def fabrication(job: Job) -> Fabrication:
    return job.fabrications.get()


@pytest.fixture
def noor(shop: ShopSettings) -> Person:
    return Person.objects.create_user("noor", role="owner")


def book_of(job: Job) -> MetalBook:
    revision = Revision.objects.get(fabrication__job=job)
    return MetalBook.of(revision, calc.Plan.from_json(revision.plan))


# The page


def test_an_empty_job_offers_what_was_planned(signed_in: Client, job: Job) -> None:
    page = signed_in.get(PAGE).content.decode()
    assert "As planned: 1 x S1, 2500 x 1250 mm" in page
    assert "No sheet is logged yet" in page
    assert re.search(r'name="price" value="96.00"', page)


@pytest.mark.parametrize("kind", FORMS)
def test_a_line_is_logged_with_who_and_when(signed_in: Client, job: Job, owner: Person, kind: str) -> None:
    answer = signed_in.post(f"{PAGE}{kind}/", {**FORMS[kind], "form_key": str(uuid4())})
    assert (answer.status_code, answer["Location"]) == (302, PAGE)
    line = LINES[kind]().get()
    assert (line.by, line.count, line.struck_at) == (owner, int(FORMS[kind]["count"]), None)
    assert f"{owner}, {line.at:%-d %b}" in signed_in.get(PAGE).content.decode()


@pytest.mark.parametrize("kind", FORMS)
def test_the_same_form_twice_makes_one_line(signed_in: Client, job: Job, kind: str) -> None:
    form = {**FORMS[kind], "form_key": str(uuid4())}
    for _ in range(2):
        assert signed_in.post(f"{PAGE}{kind}/", form).status_code == 302
    assert LINES[kind]().count() == 1


def test_the_same_form_with_other_words_is_refused_and_says_what_it_made(signed_in: Client, job: Job) -> None:
    form = sheet_form()
    signed_in.post(f"{PAGE}sheets/", form)
    answer = signed_in.post(f"{PAGE}sheets/", {**form, "count": "5"})
    assert answer.status_code == 409
    assert "This form was sent already and made: 2 x S1." in answer.content.decode()
    assert issued().get().count == 2


def test_htmx_gets_the_part_and_a_refusal_with_the_form(signed_in: Client, job: Job, htmx: Headers) -> None:
    answer = signed_in.post(f"{PAGE}sheets/", sheet_form(), headers=htmx())
    assert answer.content.decode().lstrip().startswith('<div id="metal"')
    refused = signed_in.post(f"{PAGE}sheets/", sheet_form(length="long"), headers=htmx())
    assert refused.status_code == 422
    assert refused.content.decode().lstrip().startswith('<div id="metal"')


@pytest.mark.parametrize(
    ("kind", "change", "words"),
    [
        ("sheets", {"count": "0"}, "greater than or equal to 1"),
        ("sheets", {"count": "1001"}, "less than or equal to 1000"),
        ("sheets", {"label": ""}, "Not given yet."),
        ("sheets", {"label": "x" * 41}, "at most 40 characters"),
        ("sheets", {"length": "long"}, "no number"),
        ("sheets", {"length": "0"}, "must be 1 mm to 20000 mm (got 0 mm)"),
        ("sheets", {"width": "90 ft"}, "must be 1 mm to 20000 mm (got 90 ft)"),
        ("sheets", {"price": "cheap"}, 'must be an amount such as "118.00", digits and a point only (got "cheap")'),
        ("sheets", {"price": "-1"}, 'must be an amount such as "118.00", digits and a point only (got "-1")'),
        ("sheets", {"price": "1e99"}, 'must be an amount such as "118.00"'),
        ("sheets", {"price": "NaN"}, 'must be an amount such as "118.00"'),
        ("sheets", {"form_key": "7"}, "That form was not whole."),
        ("offcuts", {"length": ""}, "Not given yet."),
        ("spoiled", {"blank": "Z"}, "not one of the available choices"),
        ("spoiled", {"why": ""}, "Not given yet."),
        ("spoiled", {"why": "x" * 501}, "at most 500 characters"),
        ("bought", {"what": ""}, "Not given yet."),
        ("bought", {"price": "1.234"}, 'must be an amount such as "118.00"'),
    ],
)
def test_what_does_not_fit_is_said_beside_its_field(
    signed_in: Client, job: Job, kind: str, change: dict[str, str], words: str
) -> None:
    answer = signed_in.post(f"{PAGE}{kind}/", {**FORMS[kind], "form_key": str(uuid4()), **change})
    assert answer.status_code == 422
    assert words in answer.content.decode().replace("&quot;", '"')
    assert not LINES[kind]().exists()


def test_words_typed_are_shown_as_words(signed_in: Client, job: Job) -> None:
    nasty = '"><script>alert(1)</script>'
    signed_in.post(f"{PAGE}bought/", {**FORMS["bought"], "what": nasty, "form_key": str(uuid4())})
    page = signed_in.get(PAGE).content.decode()
    assert "<script>alert(1)" not in page
    assert "&lt;script&gt;alert(1)" in page


# As planned


def test_one_tap_logs_sheets_and_offcuts_as_planned(signed_in: Client, job: Job, plan: calc.Plan) -> None:
    for kind in ("sheets", "offcuts"):
        assert (
            signed_in.post(f"{PAGE}{kind}/as-planned", {"form_key": str(uuid4()), "revision": "1"}).status_code == 302
        )
    sheet = issued().get()
    assert (sheet.item.label, sheet.count, sheet.item.price) == ("S1", 1, Decimal("96.00"))
    # 2.5 m x 1.25 m x 1.5 mm x density
    assert sheet.item.mass == pytest.approx(2.5 * 1.25 * 0.0015 * DENSITY)
    kept = sum(offcut.item.mass * offcut.count for offcut in returned())
    assert kept == pytest.approx(plan.takeoff.offcut_mass)
    page = signed_in.get(PAGE).content.decode()
    assert "As planned" not in page


def test_a_second_tap_by_another_adds_nothing_and_says_who_was_first(
    signed_in: Client, job: Job, fabrication: Fabrication, noor: Person
) -> None:
    sheet_use(
        fabrication=fabrication,
        count=1,
        label="S1",
        length=2500,
        width=1250,
        price=Decimal(90),
        by=noor,
        form_key=uuid4(),
    )
    answer = signed_in.post(f"{PAGE}sheets/as-planned", {"form_key": str(uuid4()), "revision": "1"})
    assert answer.status_code == 409
    assert "logged already, the last by noor" in answer.content.decode()
    assert issued().count() == 1


def test_the_same_tap_twice_is_one(fabrication: Fabrication, plan: calc.Plan, owner: Person) -> None:
    key = uuid4()
    first, again = (
        sheets_use_as_planned(fabrication=fabrication, planned=planned_sheets(plan), by=owner, form_key=key)
        for _ in range(2)
    )
    assert first == again
    offcuts = [
        offcuts_return_as_planned(fabrication=fabrication, planned=planned_offcuts(plan), by=owner, form_key=key)
        for _ in range(2)
    ]
    assert offcuts[0] == offcuts[1]
    assert (issued().count(), returned().count()) == (1, len(planned_offcuts(plan)))
    with pytest.raises(NothingLeftToLog):
        offcuts_return_as_planned(fabrication=fabrication, planned=planned_offcuts(plan), by=owner, form_key=uuid4())


METAL_OF_THE_JOB = ("5052-H32", 1.5)


def offcut_of(length: float, metal: tuple[str, float] = METAL_OF_THE_JOB) -> StockMove:
    item = StockItem(length=length, width=600, alloy=metal[0], thickness=metal[1])
    return StockMove(item=item, on_hand=1)


def test_only_what_is_not_logged_yet_is_left_of_the_plan() -> None:
    planned = [
        PlannedOffcut(800, 600, 480_000, 2, METAL_OF_THE_JOB),
        PlannedOffcut(400, 300, 120_000, 1, METAL_OF_THE_JOB),
    ]
    one_as_planned = offcut_of(800)
    assert [piece.count for piece in offcuts_to_return(planned, [one_as_planned])] == [1, 1]
    # As it was measured, not as it was planned: it stands for one of those still open.
    as_measured = offcut_of(798)
    assert [piece.length for piece in offcuts_to_return(planned, [one_as_planned, as_measured])] == [400]
    assert offcuts_to_return(planned, [one_as_planned, as_measured, as_measured]) == []
    # Of another metal, it was kept before the plan changed and stands for none.
    for other in (("5052-H32", 2.0), ("3003-H14", 1.5)):
        assert offcuts_to_return(planned, [offcut_of(800, other), offcut_of(798, other)]) == planned


def test_after_a_change_of_the_metal_its_sheets_are_still_to_be_logged(
    signed_in: Client, job: Job, fabrication: Fabrication, sheet: dict[str, Any], owner: Person
) -> None:
    for kind in ("sheets", "offcuts"):
        signed_in.post(f"{PAGE}{kind}/as-planned", {"form_key": str(uuid4()), "revision": "1"})
    assert "As planned" not in signed_in.get(PAGE).content.decode()
    sheet["material"]["thickness"] = 2.0
    planning.store(fabrication=fabrication, plan=calc.plan(sheet), by=owner)
    assert "As planned: 1 x S1, 2500 x 1250 mm" in signed_in.get(PAGE).content.decode()
    for kind in ("sheets", "offcuts"):
        answer = signed_in.post(f"{PAGE}{kind}/as-planned", {"form_key": str(uuid4()), "revision": "2"})
        assert answer.status_code == 302
    assert [(line.item.alloy, line.item.thickness) for line in issued()] == [("5052-H32", 1.5), ("5052-H32", 2.0)]
    assert {line.item.thickness for line in returned()} == {1.5, 2.0}
    assert "As planned" not in signed_in.get(PAGE).content.decode()


@pytest.mark.parametrize("kind", ["sheets", "offcuts"])
def test_a_tap_on_what_was_planned_before_is_told_of_the_new_plan(
    signed_in: Client, job: Job, fabrication: Fabrication, plan: calc.Plan, noor: Person, kind: str
) -> None:
    page = signed_in.get(PAGE).content.decode()
    assert page.count('name="revision" value="1"') == 2
    planning.store(fabrication=fabrication, plan=plan, by=noor)
    answer = signed_in.post(f"{PAGE}{kind}/as-planned", {"form_key": str(uuid4()), "revision": "1"})
    page = answer.content.decode()
    assert answer.status_code == 409
    assert re.search(r"noor made revision 2 (on .* )?at \d\d:\d\d\. Look at what is planned now", page)
    assert page.count('name="revision" value="2"') == 2
    assert not LINES[kind]().exists()


def test_the_same_tap_again_after_a_new_plan_is_still_one(
    fabrication: Fabrication, plan: calc.Plan, owner: Person
) -> None:
    key = uuid4()
    given: dict[str, Any] = {"fabrication": fabrication, "planned": planned_sheets(plan), "by": owner, "form_key": key}
    first = sheets_use_as_planned(**given, revision=1)
    planning.store(fabrication=fabrication, plan=plan, by=owner)
    assert sheets_use_as_planned(**{**given, "planned": []}, revision=1) == first
    with pytest.raises(PlannedAnew, match="edda made revision 2"):
        sheets_use_as_planned(**{**given, "form_key": uuid4()}, revision=1)


def test_an_inch_shop_logs_a_sheet_in_millimetres_once(signed_in: Client, job: Job) -> None:
    ShopSettings.objects.update(unit="in", rule="1/16")
    page = signed_in.get(PAGE).content.decode()
    assert 'name="length" value="2500 mm"' in page  # 2500 / 25.4 has no end in decimals
    # as a tape in inches has it: 98.4252 x 25.4 = 2500.0001 mm, 49.2126 x 25.4 = 1250.0000 mm
    signed_in.post(f"{PAGE}sheets/", sheet_form(count="1", length="98.4252", width="49.2126"))
    assert issued().get().item.length == pytest.approx(2500, abs=0.001)
    assert "As planned: 1 x S1" not in signed_in.get(PAGE).content.decode()


def test_an_offcut_is_proposed_to_a_tenth_of_a_millimetre(signed_in: Client, job: Job, plan: calc.Plan) -> None:
    wanted = next(piece for piece in planned_offcuts(plan) if piece.outline is None)
    page = signed_in.get(PAGE).content.decode()
    form = page[page.index(f'action="{PAGE}offcuts/"') :]
    lengths = {name: re.search(rf'name="{name}" value="([^"]*)"', form) for name in ("length", "width")}
    for name, found in lengths.items():
        assert found
        assert re.fullmatch(r"\d+(\.\d)?", found[1])
        assert float(found[1]) == pytest.approx(getattr(wanted, name), abs=0.0501)
    given = {name: found[1] for name, found in lengths.items() if found}
    signed_in.post(f"{PAGE}offcuts/", {"form_key": str(uuid4()), "count": str(wanted.count), **given})
    book = book_of(job)
    assert [(left.length, left.width) for left in book.offcuts_left] == [
        (left.length, left.width) for left in book.offcuts_planned if left != wanted
    ]


@pytest.mark.parametrize("odd", ["\u202e", "\u2028"])
@pytest.mark.parametrize(("kind", "name"), [("sheets", "label"), ("spoiled", "why"), ("bought", "what")])
def test_words_that_turn_or_break_the_line_are_refused(
    signed_in: Client, job: Job, kind: str, name: str, odd: str
) -> None:
    sent = {**FORMS[kind], "form_key": str(uuid4()), name: f"a{odd}b"}
    answer = signed_in.post(f"{PAGE}{kind}/", sent)
    assert answer.status_code == 422
    assert "must be one line of plain text" in answer.content.decode()
    assert not LINES[kind]().exists()


@pytest.mark.parametrize("kind", ["spoiled", "bought"])
def test_nothing_is_spoiled_or_bought_as_planned(signed_in: Client, job: Job, kind: str) -> None:
    assert signed_in.post(f"{PAGE}{kind}/as-planned", {"form_key": str(uuid4()), "revision": "1"}).status_code == 404


def test_as_planned_without_a_key(signed_in: Client, job: Job) -> None:
    assert signed_in.post(f"{PAGE}sheets/as-planned").status_code == 422
    assert not issued().exists()


# Struck out


@pytest.fixture
def line(fabrication: Fabrication, owner: Person) -> BoughtIn:
    return thing_buy(
        fabrication=fabrication, count=3, what="Hose, a metre", price=Decimal("7.35"), by=owner, form_key=uuid4()
    )


def test_a_wrong_line_is_struck_out_and_stays(signed_in: Client, job: Job, line: BoughtIn, owner: Person) -> None:
    answer = signed_in.post(f"{PAGE}bought/{line.pk}/strike", {"why": "Came out of the drawer"})
    assert (answer.status_code, answer["Location"]) == (302, PAGE)
    line.refresh_from_db()
    assert (line.struck_by, line.struck_why, line.count) == (owner, "Came out of the drawer", 3)
    page = signed_in.get(PAGE).content.decode()
    assert "Came out of the drawer" in page
    assert '<tr class="struck">' in page
    assert book_of(job).bought_in_money == 0


@pytest.mark.parametrize(
    ("why", "words"), [("  ", "Say why the line is struck out."), ("a\u202eb", "must be one line of plain text")]
)
def test_striking_needs_a_reason(signed_in: Client, job: Job, line: BoughtIn, why: str, words: str) -> None:
    answer = signed_in.post(f"{PAGE}bought/{line.pk}/strike", {"why": why})
    assert answer.status_code == 422
    assert words in answer.content.decode()
    line.refresh_from_db()
    assert line.struck_at is None


def test_the_same_strike_twice_is_one(line: BoughtIn, owner: Person) -> None:
    first = line_strike(line=line, why="Wrong job", by=owner).struck_at
    assert line_strike(line=line, why="Wrong job", by=owner).struck_at == first


def test_another_strike_is_told_who_was_first(signed_in: Client, job: Job, line: BoughtIn, noor: Person) -> None:
    line_strike(line=line, why="Wrong job", by=noor)
    answer = signed_in.post(f"{PAGE}bought/{line.pk}/strike", {"why": "Too dear"})
    assert answer.status_code == 409
    assert "noor struck that line out" in answer.content.decode()
    assert "Wrong job" in answer.content.decode()
    with pytest.raises(LineIsStruck):
        line_strike(line=line, why="Wrong job", by=job.created_by)  # type: ignore[arg-type]
    line.refresh_from_db()
    assert line.struck_why == "Wrong job"


def test_a_line_of_another_job_or_kind_is_not_there(
    signed_in: Client, job: Job, line: BoughtIn, plan: calc.Plan
) -> None:
    from fabjobs.services import job_create

    job_create(plan=plan, due_day=None, by=job.created_by)  # type: ignore[arg-type]
    for path in (f"/jobs/2/metal/bought/{line.pk}/strike", f"{PAGE}sheets/{line.pk}/strike"):
        assert signed_in.post(path, {"why": "x"}).status_code == 404
    assert signed_in.post(f"{PAGE}bought/999/strike", {"why": "x"}).status_code == 404


# Against the takeoff


def test_the_balance_by_hand(job: Job, fabrication: Fabrication, owner: Person, plan: calc.Plan) -> None:
    part = Revision.objects.get().parts.get(blank="A")

    def key() -> UUID:
        return uuid4()

    sheet_use(
        fabrication=fabrication,
        count=2,
        label="S1",
        length=2500,
        width=1250,
        price=Decimal("96.00"),
        by=owner,
        form_key=key(),
    )
    offcut_return(fabrication=fabrication, count=1, length=2100, width=600, area=2100 * 600, by=owner, form_key=key())
    blank_spoil(fabrication=fabrication, count=2, part=part, why="slipped", by=owner, form_key=key())
    struck = blank_spoil(fabrication=fabrication, count=5, part=part, why="slipped", by=owner, form_key=key())
    line_strike(line=struck, why="counted twice", by=owner)
    actual = book_of(job).actual
    assert actual is not None
    per_square_metre = 0.0015 * DENSITY  # 1.5 mm: 4.02 kg
    bought = 2 * 2.5 * 1.25 * per_square_metre
    returned = 2.1 * 0.6 * per_square_metre
    in_blanks = sum(blank.mass for blank in plan.blanks)
    assert actual.issued.mass == pytest.approx(bought)
    assert actual.issued.area == 2 * 2500 * 1250
    assert actual.issued.money == Decimal("192.00")
    assert (actual.returned.mass, actual.returned.area) == pytest.approx((returned, 2100 * 600))
    assert actual.spoiled.mass == pytest.approx(2 * part.mass)
    assert actual.in_blanks.mass == pytest.approx(in_blanks)
    # nothing is cut yet: of the one sheet that the plan takes all is in hand but the blanks; of the other, what is spoiled
    # and returned aside, nobody knows
    assert actual.in_hand.mass == pytest.approx(2.5 * 1.25 * per_square_metre - in_blanks)
    assert actual.scrap.mass == pytest.approx(bought / 2 - returned - 2 * part.mass)
    # 2.1 x 0.6 of 2 x 2.5 x 1.25 m2, so 1.26 / 6.25 of 192.00
    assert actual.returned.money == Decimal("38.71")  # 38.7072


def test_the_planned_side_is_the_takeoff(job: Job, plan: calc.Plan) -> None:
    planned, takeoff = book_of(job).planned, plan.takeoff
    assert planned.issued.mass == takeoff.sheet_mass
    assert planned.scrap.mass == pytest.approx(takeoff.scrap_mass)
    assert planned.in_blanks.mass == pytest.approx(takeoff.net_mass)
    assert planned.issued.money == Decimal("96.00")


def test_too_little_metal_is_told_not_shown_as_less_than_nothing(
    signed_in: Client, job: Job, fabrication: Fabrication, owner: Person
) -> None:
    sheet_use(
        fabrication=fabrication,
        count=1,
        label="S9",
        length=200,
        width=100,
        price=Decimal(5),
        by=owner,
        form_key=uuid4(),
    )
    for path in (PAGE, "/jobs/1/"):
        assert "This does not add up: 0.08 kg of sheet is logged" in signed_in.get(path).content.decode()


def test_the_same_key_by_the_service(fabrication: Fabrication, owner: Person, noor: Person) -> None:
    given: dict[str, Any] = {"fabrication": fabrication, "count": 1, "what": "Spigot", "price": Decimal("11.50")}
    key = uuid4()
    assert thing_buy(**given, by=owner, form_key=key) == thing_buy(**given, by=owner, form_key=key)
    with pytest.raises(SentBefore):
        thing_buy(**given, by=noor, form_key=key)


# Refusals

POSTS = [f"{PAGE}sheets/", f"{PAGE}sheets/as-planned", f"{PAGE}sheets/1/strike"]


@pytest.mark.parametrize("path", [PAGE, *POSTS])
def test_signed_out(client: Client, job: Job, path: str) -> None:
    answer = client.get(path) if path == PAGE else client.post(path, sheet_form())
    assert answer.status_code == 302
    assert answer["Location"].startswith("/sign-in")
    assert not issued().exists()


def test_wrong_method(signed_in: Client, job: Job) -> None:
    assert signed_in.post(PAGE).status_code == 405
    for path in POSTS:
        assert signed_in.get(path).status_code == 405


@pytest.mark.parametrize("path", ["/jobs/7/metal/", "/jobs/7/metal/sheets/", "/jobs/1/metal/gold/"])
def test_missing(signed_in: Client, job: Job, path: str) -> None:
    get = path == "/jobs/7/metal/"
    assert (signed_in.get(path) if get else signed_in.post(path, sheet_form())).status_code == 404


def test_no_write_without_the_forms_own_token(job: Job, owner: Person) -> None:
    client = Client(enforce_csrf_checks=True)
    client.force_login(owner)
    for path in POSTS:
        assert client.post(path, sheet_form()).status_code == 403


def test_a_page_of_many_lines_asks_no_more_of_the_database(
    signed_in: Client, job: Job, fabrication: Fabrication, owner: Person, django_assert_max_num_queries: Any
) -> None:
    for _ in range(30):
        thing_buy(fabrication=fabrication, count=1, what="Bolt", price=Decimal(1), by=owner, form_key=uuid4())
    with django_assert_max_num_queries(13):
        signed_in.get(PAGE)
