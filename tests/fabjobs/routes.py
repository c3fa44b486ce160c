"""Every address of the shop, with what it answers to whom: the one table that a new route must be added to.

Each row holds the address and what is expected of a GET and of a POST, of an owner and of a hand. POSTs come empty, so one
that is let in is mostly told what it lacks (422). Whoever may open an address is told 405 for a method that it does not take.
"""

import re
from dataclasses import dataclass
from typing import Any

from django.urls import reverse

from tests.fabjobs.moneyed import Moneyed

DOWNLOAD = re.compile(r"\.(pdf|dxf|csv|zip|jpg)$")
# What a GET and a POST come to: LET_IN's are those of the page itself, the others' of the guard before it.
SHUT = (403, 403)


@dataclass(frozen=True)
class Route:
    """args: of the address. owner, hand, stranger: expected of GET and POST; a stranger (None) is sent to the sign-in.
    first: what comes before the method is looked at, where that is not a guard."""

    args: tuple[Any, ...]
    owner: tuple[int, int]
    hand: tuple[int, int]
    stranger: tuple[int, int] | None = None
    first: int | None = None

    def expected(self, role: str, method: str) -> int:
        answers = {"owner": self.owner, "hand": self.hand, "stranger": self.stranger or (302, 302)}[role]
        if method in {"GET", "POST"}:
            return answers[method == "POST"]
        if role == "stranger":
            return 302 if self.stranger is None else 405
        if self.first:
            return self.first
        return 403 if answers == SHUT else 405


def owners(*args: Any, get: int = 405, post: int = 405) -> Route:
    """For owners alone."""
    return Route(args, (get, post), SHUT)


def both(*args: Any, get: int = 405, post: int = 405) -> Route:
    """For owners and hands, who are told the same."""
    return Route(args, (get, post), (get, post))


def office(*args: Any) -> Route:
    """A paper of a view that hands may open for others, but not for this one."""
    return Route(args, (200, 405), (403, 405))


# Placeholders, by the shop of `tests.fabjobs.moneyed`.
STEP, OWN, INVITATION, TOKEN, LINE, NOOR, TIMER, SHEET, FOUND, PHOTO = (
    "a step", "own time", "an invitation", "its token", "a line", "another", "another's timer", "a sheet", "found so",
    "a photo",
)  # fmt: skip
ROUTES = {
    # before and about a sign-in
    "sign_in": Route((), (302, 302), (302, 302), stranger=(200, 422), first=302),
    "sign_out": both(post=302),
    "set_up": Route((), (302, 302), (302, 302), stranger=(302, 302)),
    "mark": Route((), (302, 405), (302, 405), stranger=(302, 405)),
    "join": Route((TOKEN,), (200, 422), (200, 422), stranger=(200, 422)),
    # one's own
    "me": both(get=200),
    "own_time": both(get=200),
    "change_password": both(post=422),
    "sign_out_others": both(post=302),
    "timer": both(get=200),
    # people and settings
    "people": owners(get=200),
    "invite_person": owners(post=422),
    "withdraw_invitation": owners(INVITATION, post=302),
    "change_role": owners(NOOR, post=422),
    "close_person": owners(NOOR, post=302),
    "open_person": owners(NOOR, post=302),
    "sign_out_person": owners(NOOR, post=302),
    "settings": owners(get=200),
    "change_shop": owners(post=422),
    "change_rates": owners(post=422),
    "add_sheet": owners(post=422),
    "change_sheet": owners(SHEET, get=200, post=422),
    "take_out_sheet": owners(SHEET, post=409),
    "set_week": owners(get=200, post=422),
    "who": owners(get=200),
    # jobs
    "in_hand": both(get=200),
    "jobs": both(get=200),
    "job": both(1, get=200),
    "check_paper": both(get=200),
    "new_job": owners(get=200, post=422),
    "preview_job": owners(post=200),
    "ask_otherwise": owners(post=200),
    "change_job": owners(1, get=200, post=422),
    "preview_change": owners(1, post=200),
    "ask_change_otherwise": owners(1, post=200),
    "compare_revisions": both(1, 1, 2, get=200),
    "joins": owners(1, get=200),
    "take_joins": owners(1, post=422),
    "shrinkage": owners(1, get=200),
    "take_shrinkage": owners(1, post=422),
    "better": owners(1, get=200),
    "ask_better": owners(1, post=422),
    "take_better": owners(1, 1, post=404),
    "together": owners(1, get=200),
    "take_together": owners(1, post=422),
    "part": owners(1, post=422),
    # making
    "step": both(1, STEP, get=200),
    "work": both(1, get=302),
    "spoiled": both(1, get=200),
    "spoil_copy": both(1, post=422),
    "restore_copy": both(1, 1, post=404),
    "at_work": both(1, STEP, get=200),
    "tick_step": both(1, STEP, post=422),
    "add_note": both(1, STEP, post=422),
    "enter_time": both(1, STEP, post=422),
    "correct_time": both(1, STEP, OWN, post=422),
    "start_timer": both(1, STEP, post=422),
    "stop_timer": both(TIMER, post=404),
    "put_away": both(1, post=422),
    "as_built": both(1, get=302),
    "as_built_tray": both(1, 1, get=200, post=422),
    "aperture": both(1, get=302),
    "aperture_tray": both(1, 1, get=200, post=422),
    "opening_sheet": both(1, 1, get=200),
    "opening_template": both(1, 1, get=200),
    "photos": both(1, get=200),
    "photo": both(1, PHOTO, get=200),
    "large_photo": both(1, PHOTO, get=200),
    "small_photo": both(1, PHOTO, get=200),
    "add_photo": both(1, post=422),
    "add_step_photo": both(1, STEP, post=422),
    "strike_photo": Route((1, PHOTO), (405, 422), (405, 403)),  # another's: a hand strikes out their own
    # metal and money
    "metal": owners(1, get=200),
    "add_metal": owners(1, "bought", post=422),
    "metal_as_planned": owners(1, "sheets", post=422),
    "strike_metal": owners(1, "bought", LINE, post=422),
    "job_review": owners(1, get=200),
    "review": owners(get=200),
    "review_jobs_csv": owners(get=200),
    "review_work_csv": owners(get=200),
    # the rack
    "rack": both(get=200),
    "rack_item": both(1, get=200),
    "rack_labels": both(get=422),
    "find_offcut": both(get=200, post=422),
    "preview_offcut": both(post=200),
    "place_piece": both(1, post=409),
    "to_buy": owners(get=200),
    "buy_sheets": owners(get=200, post=422),
    "count_piece": owners(1, post=422),
    "scrap_piece": owners(1, post=422),
    "correct_line": owners(1, FOUND, post=422),
    # papers
    "traveller": office(1),
    "old_traveller": office(1, 1),
    "traveller_shop": both(1, get=200),
    "old_traveller_shop": both(1, 1, get=200),
    **{kind: both(1, get=200) for kind in ("templates", "patterns", "takeoff", "drawings", "papers")},
    **{f"old_{kind}": both(1, 1, get=200) for kind in ("templates", "patterns", "takeoff", "drawings", "papers")},
}


def path_of(name: str, route: Route, shop: Moneyed) -> str:
    known = {
        STEP: shop.step.pk, OWN: shop.own_entry, INVITATION: shop.invitation.pk, TOKEN: shop.token, LINE: shop.bought,
        NOOR: shop.other.pk, TIMER: shop.others_entry, SHEET: shop.priced, FOUND: shop.found, PHOTO: shop.photo,
    }  # fmt: skip
    return reverse(name, args=[known.get(arg, arg) for arg in route.args])
