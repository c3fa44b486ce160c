"""Records: frozen dataclasses that turn into plan JSON and back, by one rule for all of them.

A record's fields are named as the keys of the JSON. Where a key is a Python word (`from`), the field carries
``metadata={"key": "from"}``. Numbers are rounded on the way out so that a plan is the same text on every run: lengths,
areas, masses and angles to 1e-7, slopes and litres (``metadata={"digits": 9}``) to 1e-9.
"""

import dataclasses
import types
import typing
from collections.abc import Mapping, Sequence
from functools import cache
from typing import Any, TypeVar

Point = tuple[float, float]
Point3 = tuple[float, float, float]
Outline = tuple[Point, ...]

DIGITS = 7
FINE = {"digits": 9}  # metadata of slopes and litres

Record = TypeVar("Record")


def as_json(value: object, digits: int = DIGITS) -> Any:
    """The plain JSON value (mapping, list, number, text) of a record or anything a record may hold.

    >>> as_json((1.00000000001, -0.0, "a", None, True))
    [1.0, 0.0, 'a', None, True]
    """
    if isinstance(value, bool) or value is None or isinstance(value, str | int):
        return value
    if isinstance(value, float):
        return round(value, digits) + 0.0  # + 0.0 turns -0.0 into 0.0
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {
            field.metadata.get("key", field.name): as_json(
                getattr(value, field.name), field.metadata.get("digits", digits)
            )
            for field in dataclasses.fields(value)
        }
    if isinstance(value, Mapping):
        return {str(key): as_json(item, digits) for key, item in value.items()}
    if isinstance(value, Sequence):
        return [as_json(item, digits) for item in value]
    raise TypeError(f"{type(value).__name__} is not part of a record")


def from_json(kind: type[Record], value: object) -> Record:
    """A record of this kind from its JSON; the counterpart of `as_json`, for what this program itself has stored.

    Nothing is checked beyond the form: a sheet typed by a person is read by `calc.sheet.read_sheet`.
    """
    return typing.cast(Record, _restore(kind, value))


def _restore(kind: Any, value: Any) -> Any:
    if isinstance(kind, type) and dataclasses.is_dataclass(kind):
        hints = _hints(kind)
        return kind(
            **{
                field.name: _restore(hints[field.name], value[key])
                for field in dataclasses.fields(kind)
                if (key := field.metadata.get("key", field.name)) in value
            }
        )
    origin, arguments = typing.get_origin(kind), typing.get_args(kind)
    if origin is tuple:
        items = [arguments[0]] * len(value) if arguments[-1:] == (...,) else arguments
        return tuple(_restore(item, part) for item, part in zip(items, value, strict=True))
    if origin in (typing.Union, types.UnionType):
        return _restore(_member(arguments, value), value)
    if isinstance(origin, type) and issubclass(origin, Mapping):
        return {key: _restore(arguments[1], item) for key, item in value.items()}
    return float(value) if kind is float else value


def _member(choices: tuple[Any, ...], value: Any) -> Any:
    """Which member of a union a JSON value belongs to: null, a record that has its keys, or a list."""
    for choice in choices:
        is_record = dataclasses.is_dataclass(choice)
        if choice is type(None):
            fits = value is None
        elif isinstance(value, Mapping):
            fits = is_record and _answers(choice, value)
        elif isinstance(value, list):
            fits = typing.get_origin(choice) is tuple
        else:
            fits = value is not None and not is_record
        if fits:
            return choice
    raise ValueError(f"{value!r} is none of {choices}")


def _answers(choice: Any, value: Mapping[str, Any]) -> bool:
    """Whether a mapping is this record's: the same keys, and the same `family` or `kind` where it has one."""
    fields = {field.metadata.get("key", field.name): field for field in dataclasses.fields(choice)}
    return set(value) <= set(fields) and all(
        fields[mark].default in (value[mark], dataclasses.MISSING) for mark in ("family", "kind") if mark in value
    )


@cache
def _hints(kind: Any) -> dict[str, Any]:
    return typing.get_type_hints(kind)
