"""A job sheet from a file: bytes in, the JSON value out, everything that can be wrong with a file in words."""

import json
import sys
from pathlib import Path
from typing import Any, NoReturn

from calc.reading import Fault, SheetFaults, one_line

LARGEST = 5_000_000  # bytes; 2,000 blanks of 24 corners take under 2 MB


def read_sheet_file(name: str) -> Any:
    """The JSON value in a file (`-`: standard input). Raises `SheetFaults` where there is none to be had."""
    return parse_sheet(_bytes_of(name))


def parse_sheet(content: bytes) -> Any:
    r"""The JSON value of a sheet's bytes, UTF-8 with or without a byte order mark. Raises `SheetFaults`.

    >>> parse_sheet(b'\xef\xbb\xbf{"quantity": 2}')
    {'quantity': 2}
    """
    if len(content) > LARGEST:
        _refuse(f"must be smaller than {LARGEST / 1e6:g} MB")
    try:
        text = content.decode("utf-8-sig")
        return json.loads(text, parse_constant=_no_constant, object_pairs_hook=_no_repeats)
    except UnicodeDecodeError as error:
        _refuse(f"must be UTF-8 text (byte {error.start + 1} is not)")
    except json.JSONDecodeError as error:
        _refuse(f"not JSON (line {error.lineno}, column {error.colno}): {one_line(error.msg)}")
    except RecursionError:
        _refuse("not a sheet: lists or objects are nested too deep")
    except SheetFaults:
        raise
    except ValueError:  # Python refuses to read a whole number of more than some thousand digits
        _refuse("not a sheet: a number has far too many digits")


def _bytes_of(name: str) -> bytes:
    try:
        if name == "-":
            return sys.stdin.buffer.read(LARGEST + 1)
        with Path(name).open("rb") as file:
            return file.read(LARGEST + 1)
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        _refuse(f"cannot read {one_line(name)} ({reason[:1].lower()}{reason[1:]})")


def _no_constant(word: str) -> NoReturn:
    _refuse(f"numbers must be finite (got {word})")


def _no_repeats(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    content = dict(pairs)
    if len(content) < len(pairs):
        keys = [key for key, _ in pairs]
        twice = next(key for key in keys if keys.count(key) > 1)
        _refuse(f'the key "{one_line(twice[:60])}" is given twice in one object')
    return content


def _refuse(text: str) -> NoReturn:
    raise SheetFaults([Fault("sheet", text)])
