"""Writes that touch more than one row: keyword-only, atomic, named noun_verb."""

from fabjobs.services.as_built import aperture_set_out, as_built_add
from fabjobs.services.improve import improvement_ask, improvement_take
from fabjobs.services.job import (
    Along,
    JobIsStale,
    job_change,
    job_create,
    job_describe,
    jobs_lay_together,
    revision_of_form,
)
from fabjobs.services.ledger import (
    NotOnTheRack,
    move_correct,
    piece_find,
    stock_buy,
    stock_count,
    stock_issue,
    stock_scrap,
)
from fabjobs.services.metal import (
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
from fabjobs.services.once import SentBefore
from fabjobs.services.rack import cut_sheets_issue, plan_reserve
from fabjobs.services.settings import (
    RatesAreStale,
    SettingsAreStale,
    SheetIsThere,
    rates_set,
    sheet_price_add,
    sheet_price_change,
    sheet_price_take_out,
    shop_change,
)
from fabjobs.services.shop import ShopIsTaken, shop_claim
from fabjobs.services.steps import StepChanged, note_add, step_tick
from fabjobs.services.tapped import TapOutOfTime
from fabjobs.services.time import TimeChanged, TimerRanLong, time_correct, time_enter, timer_start, timer_stop

__all__ = [
    "Along",
    "JobIsStale",
    "LineIsStruck",
    "NotOnTheRack",
    "NothingLeftToLog",
    "RatesAreStale",
    "SentBefore",
    "SettingsAreStale",
    "SheetIsThere",
    "ShopIsTaken",
    "StepChanged",
    "TapOutOfTime",
    "TimeChanged",
    "TimerRanLong",
    "aperture_set_out",
    "as_built_add",
    "blank_spoil",
    "cut_sheets_issue",
    "improvement_ask",
    "improvement_take",
    "job_change",
    "job_create",
    "job_describe",
    "jobs_lay_together",
    "line_strike",
    "move_correct",
    "note_add",
    "offcut_return",
    "offcuts_return_as_planned",
    "piece_find",
    "plan_reserve",
    "rates_set",
    "revision_of_form",
    "sheet_price_add",
    "sheet_price_change",
    "sheet_price_take_out",
    "sheet_use",
    "sheets_use_as_planned",
    "shop_change",
    "shop_claim",
    "step_tick",
    "stock_buy",
    "stock_count",
    "stock_issue",
    "stock_scrap",
    "thing_buy",
    "time_correct",
    "time_enter",
    "timer_start",
    "timer_stop",
]
