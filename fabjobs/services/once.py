"""A form that is sent twice, by a second tap or by the browser's Back, makes one line."""

from typing import Any, TypeVar
from uuid import UUID

from fabjobs.models.logged import LoggedLine

Line = TypeVar("Line", bound=LoggedLine)


class SentBefore(Exception):
    """The form was sent already, but said something else then; `line` is what it made."""

    def __init__(self, line: LoggedLine, text: str = "") -> None:
        self.line = line
        told = f"This form was sent already and made: {line}. If this is something new, send it once more."
        super().__init__(text or told)


def line_of_form(kind: type[Line], form_key: UUID, **said: Any) -> Line | None:
    """The line that this form made when it was sent before; None if it is new.

    To be asked within the transaction that then adds the line. Raises `SentBefore` where the line says something else.
    """
    line = kind._default_manager.filter(form_key=form_key).first()
    if line is not None and any(getattr(line, name) != value for name, value in said.items()):
        raise SentBefore(line)
    return line
