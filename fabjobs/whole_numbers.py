"""Whole numbers that come from outside: as large as a row's column holds, and no larger."""

LARGEST = 2**31 - 1
DIGITS = len(str(LARGEST))


def whole_number(text: str) -> int | None:
    """The number that these digits are; None where they are no digits, or it is larger than any row's.

    >>> whole_number("17"), whole_number("-1"), whole_number("1e3"), whole_number("2147483648"), whole_number("9" * 5000)
    (17, None, None, None, None)
    """
    if not (text.isascii() and text.isdigit() and len(text) <= DIGITS):
        return None
    number = int(text)
    return number if number <= LARGEST else None
