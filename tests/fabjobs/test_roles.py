"""Who may open what, as a matrix: every address x everyone x every method. And what a hand is shown holds no money and nobody
else's hours."""

import io
import re
import zipfile
from collections.abc import Callable, Iterator
from html import unescape
from typing import Any
from uuid import uuid4

import pytest
from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.http import HttpResponse
from django.test import Client
from django.urls import URLPattern, get_resolver, reverse
from django.utils import timezone

import calc
from calc.papers import aperture_paper, labels, templates, traveller
from fabjobs import papers as made_papers
from fabjobs import planning
from fabjobs.middleware import SignedInMiddleware
from fabjobs.models import Person, Step, StockItem, TimeEntry
from fabjobs.views.guards import for_hands
from fabjobs.views.refusals import OWNERS_ONLY
from tests.fabjobs import routes
from tests.fabjobs.changing import latest
from tests.fabjobs.moneyed import CURRENCY, FOUND, OWN, PAID, Moneyed, made_plans, moneyed
from tests.fabjobs.routes import DOWNLOAD, ROUTES, path_of

METHODS = ("GET", "POST", "PUT", "DELETE")
SIGNS = (CURRENCY, "€", "£", "EUR", "USD")
GEOMETRY = re.compile(r"""\b(?:d|points|transform|viewBox|width|height|r|[xy][12]?|[cr][xy])=(?:"[^"]*"|'[^']*')""")
PAPER = b"%PDF-typeset elsewhere"
Headers = Callable[..., dict[str, str]]


@pytest.fixture(scope="session")
def plans() -> tuple[calc.Plan, calc.Plan, calc.Plan]:
    return made_plans()


@pytest.fixture
def money(owner: Person, plans: tuple[calc.Plan, calc.Plan, calc.Plan]) -> Moneyed:
    return moneyed(owner, plans)


@pytest.fixture
def no_paper_is_made(monkeypatch: pytest.MonkeyPatch) -> None:
    """Who may have a paper does not hang on what is in it, which is asked below: each view comes as far as to have it made."""
    for module in (aperture_paper, labels, templates, traveller):
        monkeypatch.setattr(module, "typeset", lambda _: PAPER)
    for makes in ("of_revision", "download"):
        monkeypatch.setattr(made_papers, makes, lambda *_, **__: PAPER)


def client_of(role: str, shop: Moneyed) -> Client:
    client = Client()
    if role != "stranger":
        client.force_login(shop.owner if role == "owner" else shop.hand)
    return client


def ask(role: str, method: str, path: str, shop: Moneyed, **more: Any) -> HttpResponse:
    """The answer; whatever it wrote is undone, so that the next is asked of the same shop."""
    with transaction.atomic():
        answer: Any = client_of(role, shop).generic(method, path, **more)
        if hasattr(answer, "getvalue"):
            answer.getvalue()
        transaction.set_rollback(True)
    return answer


def test_every_address_is_in_the_table() -> None:
    named = {pattern.name for pattern in get_resolver().url_patterns if isinstance(pattern, URLPattern)}
    assert named == set(ROUTES)


@pytest.mark.parametrize("method", METHODS)
@pytest.mark.parametrize("role", ["stranger", "hand", "owner"])
@pytest.mark.usefixtures("no_paper_is_made")
def test_the_matrix(money: Moneyed, role: str, method: str) -> None:
    wrong = {}
    for name, route in ROUTES.items():
        status, expected = (
            ask(role, method, path_of(name, route, money), money).status_code,
            route.expected(role, method),
        )
        if status != expected:
            wrong[name] = f"{status}, not {expected}"
    assert wrong == {}


@pytest.mark.usefixtures("no_paper_is_made")
def test_a_number_beyond_what_a_database_holds_is_found_nowhere(money: Moneyed) -> None:
    """SQLite's integers end at 2^63 - 1 (sqlite.org, Datatypes); an address whose page fails fails here."""
    found = {}
    for name, route in ROUTES.items():
        path = path_of(name, route, money)
        for digits in re.finditer(r"(?<=/)\d+(?=/|$)", path):
            huge = f"{path[: digits.start()]}{2**63}{path[digits.end() :]}"
            statuses = [ask("owner", method, huge, money).status_code for method in ("GET", "POST")]
            if 200 in statuses:
                found[huge] = statuses
    assert found == {}


def test_a_page_that_asks_with_htmx_is_told_in_words_alone(money: Moneyed, htmx: Headers) -> None:
    shut = {name: path_of(name, route, money) for name, route in ROUTES.items() if route.hand == routes.SHUT}
    assert len(shut) > 40
    for name, path in shut.items():
        answer = ask("hand", "POST", path, money, headers=htmx())
        told = (name, answer.status_code, answer["Content-Type"], answer.content.decode())
        assert told == (name, 403, "text/plain; charset=utf-8", OWNERS_ONLY)


def test_a_new_page_is_shut_to_hands_until_its_view_says_otherwise(money: Moneyed, rf: Any) -> None:
    request = rf.get("/new-page")
    request.user, request.htmx = money.hand, False
    guard = SignedInMiddleware(lambda _: HttpResponse())
    with pytest.raises(PermissionDenied):
        guard.process_view(request, lambda _: HttpResponse(), (), {})
    assert guard.process_view(request, for_hands(lambda _: HttpResponse()), (), {}) is None


# What a hand is shown


def test_other_peoples_time_is_not_corrected_by_a_hand(money: Moneyed) -> None:
    entry = TimeEntry.objects.get(pk=money.others_entry)
    answer = client_of("hand", money).post(f"/jobs/1/steps/{money.step.pk}/time/{entry.pk}", correction(entry))
    assert answer.status_code == 404
    assert TimeEntry.objects.get(pk=entry.pk).seconds == entry.seconds


def correction(entry: TimeEntry) -> dict[str, str]:
    named = {"form_key": uuid4(), "was": entry.seconds, "took": "5", "reason": "Slip"}
    return {f"entry{entry.pk}-{name}": str(value) for name, value in named.items()}


def test_a_hand_corrects_and_sees_their_own_time(money: Moneyed) -> None:
    entry = TimeEntry.objects.get(pk=money.own_entry)
    hand, step = client_of("hand", money), f"/jobs/1/steps/{money.step.pk}/"
    assert f"{OWN} min" in hand.get(step).content.decode()
    assert hand.post(f"{step}time/{entry.pk}", correction(entry)).status_code == 302
    page = words(hand.get(step).content.decode())
    assert "Logged by you 5 min" in page
    assert f"was {OWN} min; jon made it 5 min" in page


def test_a_hand_puts_no_price_on_what_they_find(money: Moneyed) -> None:
    hand = client_of("hand", money)
    assert "Price" not in hand.get("/rack/found").content.decode()
    given = {"count": "1", "alloy": "5052-H32", "thickness": "1.5", "length": "400", "width": "300", "sides": "0"}
    said = {"reason": "Behind the folder", "price": "500.00", "form_key": str(uuid4())}
    answer = hand.post("/rack/found", given | said)
    item = StockItem.objects.latest("number")
    assert (answer.status_code, answer["Location"]) == (302, item.get_absolute_url())
    assert (item.length, item.price) == (400, 0)


def test_a_form_of_anothers_time_come_back_to_on_one_tablet_tells_no_hours(money: Moneyed) -> None:
    path, key = f"/jobs/1/steps/{money.step.pk}/time", str(uuid4())
    given = {"day": timezone.localdate().isoformat(), "took": "7 h", "form_key": key}
    assert client_of("owner", money).post(path, given).status_code == 302
    answer = client_of("hand", money).post(path, given | {"took": "20"})
    assert answer.status_code == 409
    assert "sent already by someone else" in answer.content.decode()
    assert leaks(answer.content.decode(), money) == set()
    assert "25200" not in answer.content.decode()


def pages(shop: Moneyed) -> Iterator[tuple[str, str]]:
    """Every page that a hand may get, of both revisions and both jobs, whole and as htmx asks for it: its name and markup."""
    steps = {step.kind: step for step in Step.objects.filter(fabrication__job__number=1)}.values()
    plain = [path for path in _open_to_hands(shop) if not DOWNLOAD.search(path)]
    more = [
        "/jobs/2/",
        "/jobs/1/?paper=1-AAAAAA",
        "/rack/2/",
        "/rack/?there=ever",
        "/papers/?job=1&revision=1&code=AAAAAA",
    ]
    more += [reverse("step", args=[1, step.pk]) for step in steps]
    asked = [(path, {}) for path in (*plain, *more)] + [(path, {"HX-Request": "true"}) for path in plain]
    for path, headers in asked:
        answer = ask("hand", "GET", path, shop, headers=headers)
        yield path, answer.content.decode()


def _open_to_hands(shop: Moneyed) -> Iterator[str]:
    return (path_of(name, route, shop) for name, route in ROUTES.items() if route.hand[0] == 200)


def answers(shop: Moneyed) -> Iterator[tuple[str, str]]:
    """What a hand is answered for all that they may do, with and without htmx, and where they are refused."""
    step, other = f"/jobs/1/steps/{shop.step.pk}/", reverse("step", args=[1, shop.step.pk])
    seen = {"version": shop.step.version, "revision": shop.step.revision_id, "done": "1", "back": "job"}
    sent: list[tuple[str, dict[str, Any]]] = [
        (f"{step}tick", seen),
        (f"{step}tick", seen | {"version": 99}),
        (f"{step}timer", {"back": "job"}),
        (f"{step}time", {"day": "2031-01-01", "took": "a while"}),
        (f"{step}time/{shop.others_entry}", {}),
        (f"{step}time/{shop.own_entry}", {f"entry{shop.own_entry}-was": 1, f"entry{shop.own_entry}-took": "5"}),
        (f"{other}note", {"text": ""}),
        ("/rack/found", {"count": "1"}),
        ("/rack/found/preview", {"ask": "3"}),
        ("/rack/1/place", {"place": "Yard", "was": "elsewhere"}),
        ("/jobs/1/put-away", {}),
        ("/rack/1/count", {}),
        ("/jobs/1/steps/9999/tick", seen),
        ("/nowhere", {}),
    ]
    for path, data in sent:
        for headers in ({}, {"HX-Request": "true", "HX-Current-URL": "http://testserver/jobs/1/"}):
            keyed = {"form_key": str(uuid4()), **data}
            with transaction.atomic():
                answer = client_of("hand", shop).post(path, keyed, headers=headers)
                yield f"{answer.status_code} {path}", answer.content.decode()
                transaction.set_rollback(True)


def papers(shop: Moneyed) -> Iterator[tuple[str, str]]:
    """The words of every paper and download that a hand may have, those within an archive each by itself."""
    plain = [path for path in _open_to_hands(shop) if DOWNLOAD.search(path)]
    plain = [path for path in plain if not path.endswith(".jpg")]
    more = ("/jobs/2/traveller-shop.pdf", "/jobs/2/takeoff.csv")  # templates say the same of any job
    for path in [*plain, "/rack/labels.pdf?sheet=A4, 3 x 7&piece=1&first=1", *more]:
        answer: Any = client_of("hand", shop).get(path)
        assert answer.status_code == 200
        yield from files(path, answer.getvalue())


def files(name: str, content: bytes) -> Iterator[tuple[str, str]]:
    if content.startswith(b"PK"):
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            for entry in archive.infolist():
                yield from files(f"{name} {entry.filename}", archive.read(entry))
    elif content.startswith(b"%PDF"):
        yield name, text_of(content)
    elif name.endswith(".dxf"):
        lines = content.decode("cp1252").splitlines()
        yield (
            name,
            "\n".join(value for code, value in zip(lines[::2], lines[1::2], strict=True) if code.strip() in {"1", "3"}),
        )
    else:
        yield name, content.decode("utf-8")


def text_of(paper: bytes) -> str:
    """The words of a paper that was left unset, as `unset_papers` has it."""
    return words(paper.removeprefix(b"%PDF").decode())


def words(page: str) -> str:
    """A page without its markup."""
    return " ".join(unescape(re.sub(r"<[^>]*>", " ", page)).split())


def leaks(text: str, shop: Moneyed) -> set[str]:
    """What of the shop's money and of others' hours is in a text, markup and all but for where a drawing draws its lines."""
    text = unescape(GEOMETRY.sub(" ", text))
    figures = set(re.findall(r"\d+(?:\.\d+)?", text))
    found = {amount for amount in shop.amounts if amount in figures}
    return found | {words for words in (*shop.others_hours, *shop.warned, *SIGNS) if words in text}


@pytest.fixture
def unset_papers(monkeypatch: pytest.MonkeyPatch) -> None:
    """Papers as the page that is set on them: their words are the same, and setting eight of them takes most of a minute."""
    for module in (aperture_paper, labels, templates, traveller):
        monkeypatch.setattr(module, "typeset", lambda page: b"%PDF" + page.encode())


@pytest.mark.usefixtures("unset_papers")
def test_what_is_looked_for_is_there_for_an_owner(money: Moneyed) -> None:
    owner = client_of("owner", money)
    shown = [owner.get(path).content.decode() for path in ("/jobs/1/", "/jobs/2/", "/rack/", "/jobs/1/revisions/1/2/")]
    shown.append(owner.get(f"/jobs/1/steps/{money.step.pk}/").content.decode())
    found = set().union(*(leaks(page, money) for page in shown))
    assert CURRENCY in leaks(text_of(owner.get("/jobs/1/traveller.pdf").getvalue()), money)  # type: ignore[attr-defined]
    costs = {line.amount for line in planning.restore(latest(money.job)).cost.lines}
    assert found >= {CURRENCY, PAID, FOUND, "7 h 13 min", "3 h 47 min", "11 h 29 min", *money.warned, *costs}
    assert len(money.warned) >= 2


@pytest.mark.usefixtures("no_paper_is_made")
@pytest.mark.parametrize(("told", "least"), [(pages, 40), (answers, 20)])
def test_a_hand_is_shown_no_money_and_nobody_elses_hours(
    money: Moneyed, told: Callable[[Moneyed], Iterator[tuple[str, str]]], least: int
) -> None:
    found = [(name, text) for name, text in told(money) if text]
    assert len(found) > least
    assert {name: leaking for name, text in found if (leaking := leaks(text, money))} == {}


@pytest.mark.usefixtures("unset_papers")
def test_no_paper_of_a_hands_has_money_on_it_or_anyones_hours(money: Moneyed) -> None:
    found = [(name, text) for name, text in papers(money) if text]
    assert len(found) > 40
    assert {name: leaking for name, text in found if (leaking := leaks(text, money))} == {}
