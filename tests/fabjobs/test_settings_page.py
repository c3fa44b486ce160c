"""Settings: the shop and its saw, the rates, the sheets it buys; and what a new job takes from them."""

import re
from decimal import Decimal
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client

from fabjobs.forms import SheetPriceForm, ShopForm
from fabjobs.models import Job, Person, RateBook, Revision, SheetPrice, ShopSettings, Step, TimeEntry
from fabjobs.services import RatesAreStale, SettingsAreStale, rates_set, sheet_price_change
from fabjobs.stamps import stamp_of

PAGE = "/settings/"
RATES = {"labour": "44.00", "filler": "25.50", "gas": "0.0215", "outlet_fitting": "11.00", "seen": "0"}
SHEET = {"alloy": "5052-H32", "thickness": "1.5", "label": "S1", "length": "2500", "width": "1250", "price": "96.00"}


def shop_form(**change: str) -> dict[str, str]:
    form = {"name": "Hill Street Fabrication", "reads": "mm 1", "currency": "chf", "kerf": "2.4", "edge_trim": "8"}
    form |= {"bend_method": "din-6935", "k_factor": "", "longest_fold": "1250 mm", "largest_blank": "2500 mm"}
    form |= {"guide_offset": "95 mm", "least_clamp": "50 mm", "blade_diameter": "190 mm", "blade_teeth": "54"}
    form |= {"saw_speed": "5000", "blade_speed": "7000"}
    form |= {"process": "TIG", "marking_error": "0.4 mm", "cutting_error": "0.8 mm"}
    form |= {"seam_gap": "0.8", "paper_address": "http://10.0.0.7:8000", "seen": stamp_of(ShopSettings.current())}
    return form | change


@pytest.fixture
def book(owner: Person) -> RateBook:
    figures = {name: Decimal(RATES[name]) for name in ("labour", "filler", "gas", "outlet_fitting")}
    return RateBook.objects.create(created_by=owner, labour_by_kind={"weld": "52.00"}, **figures)


@pytest.fixture
def sheet(db: None) -> SheetPrice:
    return SheetPrice.objects.create(
        alloy="5052-H32", thickness=1.5, label="S1", length=2500, width=1250, price=Decimal("96.00")
    )


def test_the_page_shows_what_is_set(signed_in: Client, book: RateBook, sheet: SheetPrice) -> None:
    page = signed_in.get(PAGE).content.decode()
    assert 'value="Hill Street Fabrication"' in page
    assert 'name="labour" value="44.00"' in page
    assert 'name="kind_weld" value="52.00"' in page
    assert "2500 x 1250 mm" in page
    assert page.count('aria-current="page"') == 1


def test_an_empty_shop_leads_on(signed_in: Client) -> None:
    page = signed_in.get(PAGE).content.decode()
    assert "No rates are set yet." in page
    assert "None yet. A new job then asks" in page


def test_what_was_kept_is_said(signed_in: Client) -> None:
    page = signed_in.post(f"{PAGE}shop", shop_form(), follow=True).content.decode()
    assert 'role="status"><b>Kept. New jobs begin with these settings.</b>' in page
    assert "Kept." not in signed_in.get(PAGE).content.decode()
    assert "Kept." not in signed_in.get(f"{PAGE}?kept=anything").content.decode()


# The shop


def test_the_shop_is_changed(signed_in: Client) -> None:
    assert signed_in.post(f"{PAGE}shop", shop_form()).status_code == 302
    shop = ShopSettings.objects.get()
    assert (shop.unit, shop.rule, shop.currency) == ("mm", "1", "CHF")
    assert (shop.kerf, shop.edge_trim, shop.seam_gap) == (2.4, 8.0, 0.8)
    assert shop.paper_address == "http://10.0.0.7:8000"


def test_how_the_shop_bends_is_kept(signed_in: Client) -> None:
    folder = {"bend_method": "k-factor", "k_factor": "0.38", "longest_fold": "1000", "largest_blank": "1.8 m"}
    assert signed_in.post(f"{PAGE}shop", shop_form(**folder)).status_code == 302
    shop = ShopSettings.objects.get()
    assert (shop.bend_method, shop.k_factor, shop.longest_fold, shop.largest_blank) == ("k-factor", 0.38, 1000, 1800)
    assert shop.reading["k_factor"] == 0.38
    page = signed_in.get(PAGE).content.decode()
    assert '<option value="k-factor" selected>the shop&#x27;s own K</option>' in page
    assert 'name="k_factor" value="0.38"' in page


def test_how_the_shop_saws_is_kept_and_told(signed_in: Client) -> None:
    assert signed_in.post(f"{PAGE}shop", shop_form()).status_code == 302
    shop = ShopSettings.objects.get()
    assert (shop.guide_offset, shop.least_clamp) == (95, 50)
    assert shop.reading["saw"] == {"diameter": 190.0, "teeth": 54, "speed": 5000.0, "marked_speed": 7000.0}
    page = signed_in.get(PAGE).content.decode()
    assert 'name="blade_diameter" value="190"' in page
    assert 'name="saw_speed" value="5000"' in page
    # pi x 0.190 x 5000 / 60 = 49.7 m/s; 54 x 5000 x 0.04 / 1000 = 10.8 and x 0.20 = 54.0 m/min
    assert "the rim runs at 49.7 m/s" in page
    assert "This one runs under it, as hand-held saws do" in page
    assert "10.8 to 54.0 m/min" in page
    assert "marked on the blade: it may fly apart" not in page
    signed_in.post(f"{PAGE}shop", shop_form(blade_speed="4900"))
    assert "5,000 rev/min is over the 4,900 marked on the blade" in signed_in.get(PAGE).content.decode()


def test_a_shop_need_not_say_what_its_saw_is(signed_in: Client) -> None:
    empty = dict.fromkeys(("blade_diameter", "blade_teeth", "saw_speed", "blade_speed"), "")
    assert signed_in.post(f"{PAGE}shop", shop_form(**empty)).status_code == 302
    assert ShopSettings.objects.get().reading["saw"] is None
    assert "the rim runs at" not in signed_in.get(PAGE).content.decode()


def test_in_inches_what_was_set_in_millimetres_comes_back_as_it_was(signed_in: Client) -> None:
    ShopSettings.objects.update(unit="in", rule="1/16")
    page = signed_in.get(PAGE).content.decode()
    names = ("kerf", "edge_trim", "seam_gap", "longest_fold", "largest_blank")
    typed = {name: re.findall(rf'name="{name}" value="([^"]*)"', page)[0] for name in names}
    assert typed["longest_fold"] == "1250 mm"
    signed_in.post(f"{PAGE}shop", shop_form(**typed, reads="in 1/16"))
    shop = ShopSettings.objects.get()
    assert [getattr(shop, name) for name in names] == [2.0, 5.0, 0.5, 1250.0, 2500.0]


def test_a_k_that_bends_do_not_go_by_is_kept_but_not_planned_with(signed_in: Client) -> None:
    signed_in.post(f"{PAGE}shop", shop_form(k_factor="0.4"))
    shop = ShopSettings.objects.get()
    assert (shop.k_factor, "k_factor" in shop.reading) == (0.4, False)


def test_kinds_of_work_have_plain_names(signed_in: Client, owner: Person) -> None:
    figures = {name: Decimal(RATES[name]) for name in ("labour", "filler", "gas", "outlet_fitting")}
    RateBook.objects.create(created_by=owner, labour_by_kind={"hand-cut": "48.00", "fold": "50.00"}, **figures)
    page = signed_in.get(PAGE).content.decode()
    for name in ("Cut by hand", "Drill", "Fold", "Seal in", "Set in place"):
        assert f">{name}</label>" in page
    assert "cut by hand 48.00, fold 50.00" in page


def test_a_shop_that_reads_inches_types_its_saw_in_inches(signed_in: Client) -> None:
    ShopSettings.objects.update(unit="in", rule="1/16")
    signed_in.post(f"{PAGE}shop", shop_form(reads="in 1/32", kerf="1/16", edge_trim="6 mm", seam_gap="0"))
    shop = ShopSettings.objects.get()
    assert (shop.kerf, shop.edge_trim, shop.rule) == (25.4 / 16, 6.0, "1/32")


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"name": ""}, "This field is required."),
        ({"currency": "EU"}, "three capital letters"),
        ({"kerf": "11"}, "must be 0 mm to 10 mm (got 11 mm)"),
        (
            {"kerf": "0"},
            "must be at least 0.5 mm where blanks are sawn: a blade takes 1.5 to 3 mm, common practice (got 0)",
        ),
        ({"kerf": "thin"}, "no number"),
        ({"edge_trim": "201"}, "must be 0 mm to 200 mm"),
        ({"seam_gap": "6"}, "must be 0 mm to 5 mm"),
        ({"bend_method": "by eye"}, "not one of the available choices"),
        ({"bend_method": "k-factor"}, "Not given: bends are worked out by it."),
        ({"k_factor": "0.05"}, "greater than or equal to 0.1"),
        ({"k_factor": "0.61"}, "less than or equal to 0.6"),
        ({"k_factor": "third"}, "Enter a number."),
        ({"longest_fold": "0"}, "must be 1 mm to 20000 mm"),
        ({"largest_blank": "21 m"}, "must be 1 mm to 20000 mm"),
        ({"guide_offset": ""}, "This field is required."),
        ({"guide_offset": "501"}, "must be 0 mm to 500 mm"),
        ({"least_clamp": "wide"}, "no number"),
        ({"blade_diameter": "40"}, "must be 50 mm to 500 mm"),
        ({"blade_teeth": "1"}, "greater than or equal to 2"),
        ({"saw_speed": "50"}, "greater than or equal to 100"),
        ({"blade_speed": "fast"}, "Enter a number."),
        ({"process": "rivets"}, "not one of the available choices"),
        ({"marking_error": "11"}, "must be 0 mm to 10 mm"),
        ({"cutting_error": ""}, "This field is required."),
        ({"saw_speed": ""}, "Not given: blade, teeth and speed go together"),
        ({"blade_diameter": "", "blade_teeth": "", "saw_speed": ""}, "Not given: blade, teeth and speed go together"),
        ({"reads": "cubits 1"}, "not one of the available choices"),
        ({"paper_address": "javascript:alert(1)"}, "valid URL"),
        ({"seen": ""}, "That form was not whole."),
    ],
)
def test_a_setting_that_does_not_fit(signed_in: Client, change: dict[str, str], words: str) -> None:
    before = stamp_of(ShopSettings.current())
    answer = signed_in.post(f"{PAGE}shop", shop_form(**change))
    assert answer.status_code == 422
    assert words in answer.content.decode()
    assert stamp_of(ShopSettings.current()) == before


def test_settings_changed_meanwhile_are_not_overwritten(signed_in: Client) -> None:
    form = shop_form()
    ShopSettings.objects.update(kerf=3.1)
    answer = signed_in.post(f"{PAGE}shop", form)
    assert answer.status_code == 409
    assert "Someone changed this while your form was open" in answer.content.decode()
    assert ShopSettings.objects.get().kerf == 3.1


def test_the_same_change_twice_is_one(signed_in: Client) -> None:
    form = shop_form()
    assert [signed_in.post(f"{PAGE}shop", form).status_code for _ in range(2)] == [302, 302]


# Rates


def test_new_rates_make_a_new_book_and_keep_the_old(signed_in: Client, book: RateBook, owner: Person) -> None:
    form = {**RATES, "labour": "46.00", "kind_weld": "55.00", "kind_cut": "", "seen": str(book.pk)}
    assert signed_in.post(f"{PAGE}rates", form).status_code == 302
    new, old = RateBook.objects.all()
    assert (new.labour, new.gas, new.labour_by_kind) == (Decimal("46.00"), Decimal("0.0215"), {"weld": "55.00"})
    assert (old.labour, new.created_by) == (Decimal("44.00"), owner)
    page = signed_in.get(PAGE).content.decode()
    assert re.search(r"46\.00</td>.*44\.00</td>", page, re.DOTALL)


def test_the_same_rates_make_no_new_book(signed_in: Client) -> None:
    for _ in range(2):
        assert signed_in.post(f"{PAGE}rates", RATES).status_code == 302
    assert RateBook.objects.count() == 1


def test_rates_set_meanwhile_are_not_overwritten(signed_in: Client, book: RateBook) -> None:
    answer = signed_in.post(f"{PAGE}rates", {**RATES, "labour": "50.00"})  # seen: none
    assert answer.status_code == 409
    assert "edda set new rates at" in answer.content.decode()
    assert RateBook.objects.get() == book


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"labour": ""}, "This field is required."),
        ({"labour": "-1"}, 'must be an amount such as "118.00", digits and a point only (got "-1")'),
        ({"filler": "1,50"}, 'must be an amount such as "118.00", digits and a point only (got "1,50")'),
        ({"gas": "0.00001"}, 'must be an amount such as "0.0200", to 4 decimals at most (got "0.00001")'),
        ({"labour": "44.005"}, 'must be an amount such as "118.00", to 2 decimals at most (got "44.005")'),
        ({"labour": "1000000"}, 'must be at most 99999.99 (got "1000000")'),
        ({"gas": "100000"}, 'must be at most 99999.99 (got "100000")'),
        ({"kind_weld": "100000"}, 'must be at most 99999.99 (got "100000")'),
        ({"kind_weld": "1e2"}, 'must be an amount such as "118.00", digits and a point only (got "1e2")'),
        ({"kind_weld": "lots"}, 'must be an amount such as "118.00", digits and a point only (got "lots")'),
        ({"seen": ""}, "That form was not whole."),
    ],
)
def test_a_rate_that_does_not_fit(signed_in: Client, change: dict[str, str], words: str) -> None:
    answer = signed_in.post(f"{PAGE}rates", {**RATES, **change})
    assert answer.status_code == 422
    assert words in answer.content.decode().replace("&quot;", '"')
    assert not RateBook.objects.exists()


def test_the_dearest_rates_make_a_job_that_every_page_shows(
    signed_in: Client, form: dict[str, str], sheet: SheetPrice
) -> None:
    dearest = dict.fromkeys(("labour", "filler", "gas", "outlet_fitting", "kind_weld"), "99999.99")
    assert signed_in.post(f"{PAGE}rates", {**dearest, "seen": "0"}).status_code == 302
    SheetPrice.objects.update(price="999999.99")
    given = {**form, "labour": "99999.99", "quantity": "30"}
    assert signed_in.post("/jobs/new", given).status_code == 302
    revision = Revision.objects.get()
    assert f"{revision.total_cost:.2f}" == revision.plan["cost"]["total"]
    step = Step.objects.filter(kind="weld").first()
    assert step is not None
    signed_in.post(f"/jobs/1/steps/{step.pk}/timer", {"form_key": str(uuid4())})
    for page in (
        "/jobs/1/",
        f"/jobs/1/steps/{step.pk}/",
        "/jobs/1/change",
        "/jobs/1/metal/",
        "/jobs/1/review/",
        PAGE,
        "/",
    ):
        assert signed_in.get(page).status_code == 200, page
    assert TimeEntry.objects.get().rate == Decimal("99999.99")


def test_a_new_job_at_a_rate_out_of_bounds_is_refused_beside_its_field(signed_in: Client, form: dict[str, str]) -> None:
    for typed in ("100000", "42.005"):
        answer = signed_in.post("/jobs/new", {**form, "labour": typed})
        assert answer.status_code == 422
        assert f"(got &quot;{typed}&quot;)" in answer.content.decode()
    assert not Revision.objects.exists()


def test_a_rate_by_kind_is_kept_to_the_hundredth(signed_in: Client) -> None:
    signed_in.post(f"{PAGE}rates", {**RATES, "kind_weld": "52", "kind_cut": "048.5"})
    assert RateBook.objects.get().labour_by_kind == {"weld": "52.00", "cut": "48.50"}


def test_a_stale_book_by_the_service(book: RateBook, owner: Person) -> None:
    with pytest.raises(RatesAreStale) as told:
        rates_set(figures={"labour": Decimal(1)}, seen=book.pk - 1, by=owner)
    assert told.value.book == book


# Sheets


def test_a_sheet_is_added_once(signed_in: Client) -> None:
    for _ in range(2):
        assert signed_in.post(f"{PAGE}sheets", SHEET).status_code == 302
    sheet = SheetPrice.objects.get()
    assert (sheet.thickness, sheet.length, sheet.width, sheet.price) == (1.5, 2500, 1250, Decimal("96.00"))


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"price": "97.00"}, "That metal has a sheet of this label already."),
        ({"label": ""}, "This field is required."),
        ({"alloy": "unobtainium"}, "not one of the available choices"),
        ({"thickness": "0.1"}, "must be 0.2 mm to 25 mm (got 0.1 mm)"),
        ({"length": "wide"}, "no number"),
        ({"price": "x"}, 'must be an amount such as "118.00"'),
        ({"price": "1000000"}, 'must be at most 999999.99 (got "1000000")'),
    ],
)
def test_a_sheet_that_does_not_fit(signed_in: Client, sheet: SheetPrice, change: dict[str, str], words: str) -> None:
    answer = signed_in.post(f"{PAGE}sheets", {**SHEET, **change})
    assert answer.status_code == 422
    assert words in answer.content.decode().replace("&quot;", '"')
    assert SheetPrice.objects.get().price == Decimal("96.00")


def test_a_sheet_gets_another_price(signed_in: Client, sheet: SheetPrice) -> None:
    path = f"{PAGE}sheets/{sheet.pk}"
    page = signed_in.get(path).content.decode()
    assert 'name="price" value="96.00"' in page
    form = {**SHEET, "price": "99.5", "seen": stamp_of(sheet)}
    for _ in range(2):  # the second time it is there already
        assert signed_in.post(path, form).status_code == 302
    sheet.refresh_from_db()
    assert sheet.price == Decimal("99.50")
    assert signed_in.post(path, {**form, "price": "1.00"}).status_code == 409  # its form is of before
    assert signed_in.post(path, {**form, "price": "?"}).status_code == 422


def test_a_sheet_that_was_taken_out_is_not_changed(sheet: SheetPrice) -> None:
    seen = stamp_of(sheet)
    SheetPrice.objects.all().delete()
    with pytest.raises(SettingsAreStale):
        sheet_price_change(sheet=sheet, seen=seen)


def _both_found_right(monkeypatch: pytest.MonkeyPatch) -> None:
    """Forms as they are where another one is kept just after they were checked."""
    monkeypatch.setattr(SheetPriceForm, "validate_unique", lambda _: None)
    monkeypatch.setattr(SheetPriceForm, "validate_constraints", lambda _: None, raising=False)


def test_the_same_sheet_added_at_once_by_two_is_one(
    signed_in: Client, sheet: SheetPrice, monkeypatch: pytest.MonkeyPatch
) -> None:
    _both_found_right(monkeypatch)
    assert signed_in.post(f"{PAGE}sheets", SHEET).status_code == 302
    answer = signed_in.post(f"{PAGE}sheets", {**SHEET, "price": "97.00"})
    assert answer.status_code == 422
    assert "That metal has a sheet of this label already." in answer.content.decode()
    assert SheetPrice.objects.get().price == Decimal("96.00")


def test_a_label_taken_while_a_sheet_is_changed_is_told(
    signed_in: Client, sheet: SheetPrice, monkeypatch: pytest.MonkeyPatch
) -> None:
    SheetPrice.objects.create(alloy="5052-H32", thickness=1.5, label="S2", length=2000, width=1000, price=70)
    _both_found_right(monkeypatch)
    form = {**SHEET, "label": "S2", "seen": stamp_of(sheet)}
    answer = signed_in.post(f"{PAGE}sheets/{sheet.pk}", form)
    assert answer.status_code == 422
    assert "That metal has a sheet of this label already." in answer.content.decode()
    sheet.refresh_from_db()
    assert sheet.label == "S1"


def test_a_sheet_is_taken_out(signed_in: Client, sheet: SheetPrice) -> None:
    path = f"{PAGE}sheets/{sheet.pk}/take-out"
    assert signed_in.post(path, {"seen": "other"}).status_code == 409
    assert signed_in.post(path).status_code == 409
    assert SheetPrice.objects.exists()
    for _ in range(2):
        assert signed_in.post(path, {"seen": stamp_of(sheet)}).status_code == 302
    assert not SheetPrice.objects.exists()


# What a new job takes from them


def test_a_new_job_begins_with_the_shops_saw_and_rates(signed_in: Client, book: RateBook) -> None:
    ShopSettings.objects.update(kerf=2.4, edge_trim=8, seam_gap=0.8)
    page = signed_in.get("/jobs/new").content.decode()
    for name, value in {"kerf": "2.4", "edge_trim": "8", "seam_gap": "0.8", "labour": "44.00"}.items():
        assert re.search(rf'name="{name}" value="{value}"', page), name


def test_a_new_job_is_costed_at_the_rates_in_force_and_keeps_them(
    signed_in: Client, book: RateBook, form: dict[str, str], owner: Person
) -> None:
    signed_in.post("/jobs/new", {**form, "labour": "44.00"})
    RateBook.objects.create(created_by=owner, labour=1, filler=1, gas=1, outlet_fitting=1)
    revision = Revision.objects.get()
    rates = revision.sheet["rates"]
    assert rates["labour_by_kind"] == {"weld": "52.00"}
    assert (rates["filler"], rates["gas"], rates["outlet_fitting"]) == ("25.50", "0.0215", "11.00")
    lines = {line["what"]: line["rate"] for line in revision.plan["cost"]["lines"]}
    assert (lines["Labour: weld"], lines["Labour: cut"], lines["Outlet fitting"]) == ("52.00", "44.00", "11.00")
    assert Job.objects.get().fabrications.get().steps.filter(kind="weld").first().rate == Decimal("52.00")  # type: ignore[union-attr]


def test_a_new_job_is_laid_out_on_the_sheets_the_shop_buys(
    signed_in: Client, sheet: SheetPrice, form: dict[str, str]
) -> None:
    small = {"alloy": "5052-H32", "label": "S2", "length": 1200, "width": 1000, "price": Decimal("40.00")}
    SheetPrice.objects.create(thickness=1.5, **small)
    SheetPrice.objects.create(thickness=2.0, **small)  # another thickness
    SheetPrice.objects.create(thickness=1.5, **{**small, "alloy": "304"})  # another metal
    signed_in.post("/jobs/new", {**form, "price": "1.00"})
    stock = Revision.objects.get().sheet["stock"]
    assert {(size["label"], size["length"], size["price"]) for size in stock} == {
        ("S1", 2500, "96.00"),
        ("S2", 1200, "40.00"),
    }


def test_without_such_a_sheet_the_size_typed_is_taken(
    signed_in: Client, sheet: SheetPrice, form: dict[str, str]
) -> None:
    signed_in.post("/jobs/new", {**form, "thickness": "2", "sheet_length": "2000", "price": "70.00"})
    (size,) = Revision.objects.get().sheet["stock"]
    assert (size["length"], size["price"]) == (2000, "70.00")


def test_a_thickness_in_inches_finds_its_sheet(signed_in: Client, form: dict[str, str]) -> None:
    # 1/16 in = 1.5875 mm exactly
    SheetPrice.objects.create(alloy="5052-H32", thickness=1.5875, label="S9", length=2500, width=1250, price=80)
    signed_in.post("/jobs/new", {**form, "thickness": "1/16 in"})
    assert Revision.objects.get().sheet["stock"][0]["label"] == "S9"


def test_a_gauge_finds_its_sheet(signed_in: Client, form: dict[str, str]) -> None:
    # 16 gauge of aluminium is 0.0508 in (Brown and Sharpe)
    size: dict[str, Any] = {"alloy": "5052-H32", "label": "S9", "length": 2500, "width": 1250, "price": 80}
    SheetPrice.objects.create(thickness=0.0508 * 25.4, **size)
    signed_in.post("/jobs/new", {**form, "thickness": "16 ga"})
    assert Revision.objects.get().sheet["stock"][0]["label"] == "S9"


# Refusals

POSTS = ["shop", "rates", "sheets", "sheets/1", "sheets/1/take-out"]


@pytest.mark.parametrize("path", ["", *POSTS])
def test_signed_out(client: Client, shop: ShopSettings, sheet: SheetPrice, path: str) -> None:
    answer = client.post(PAGE + path, {**RATES, **SHEET}) if path else client.get(PAGE)
    assert answer.status_code == 302
    assert answer["Location"].startswith("/sign-in")
    assert (RateBook.objects.count(), SheetPrice.objects.count()) == (0, 1)


@pytest.mark.parametrize("path", ["shop", "rates", "sheets", "sheets/1/take-out"])
def test_wrong_method(signed_in: Client, path: str) -> None:
    assert signed_in.get(PAGE + path).status_code == 405
    assert signed_in.post(PAGE).status_code == 405
    assert signed_in.put(f"{PAGE}sheets/1").status_code == 405


def test_missing(signed_in: Client) -> None:
    assert signed_in.get(f"{PAGE}sheets/7").status_code == 404
    assert signed_in.post(f"{PAGE}sheets/7", SHEET).status_code == 404


@pytest.mark.parametrize("path", POSTS)
def test_no_write_without_the_forms_own_token(owner: Person, path: str) -> None:
    client = Client(enforce_csrf_checks=True)
    client.force_login(owner)
    assert client.post(PAGE + path, RATES).status_code == 403


def test_words_typed_are_shown_as_words(signed_in: Client) -> None:
    nasty = '"><script>alert(1)</script>'
    signed_in.post(f"{PAGE}sheets", {**SHEET, "label": nasty})
    signed_in.post(f"{PAGE}shop", shop_form(name=nasty))
    page = signed_in.get(PAGE).content.decode()
    assert "<script>alert(1)" not in page
    assert "&lt;script&gt;alert(1)" in page


def test_many_sheets_and_books_ask_no_more_of_the_database(
    signed_in: Client, owner: Person, django_assert_max_num_queries: Any
) -> None:
    for place in range(30):
        SheetPrice.objects.create(alloy="304", thickness=2, label=f"S{place}", length=9, width=9, price=1)
        RateBook.objects.create(created_by=owner, labour=place, filler=1, gas=1, outlet_fitting=1)
    with django_assert_max_num_queries(10):
        signed_in.get(PAGE)


def test_forms_open_with_what_is_kept(shop: ShopSettings, sheet: SheetPrice) -> None:
    ShopSettings.objects.update(unit="in", rule="1/16", kerf=25.4 / 16)
    shop.refresh_from_db()
    assert ShopForm(shop=shop)["kerf"].value() == "1/16"
    assert SheetPriceForm(shop=shop, sheet=sheet)["length"].value() == shop.display.exact(2500)
