"""Codes that people read off paper or a screen: Crockford's base 32, without I, L, O and U."""

CROCKFORD = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
CHECK_CODE_LENGTH = 6  # 30 bits: a wrong paper passes for the right one once in a thousand million
_MISREAD = str.maketrans("ILO", "110")  # what Crockford's base 32 takes them for


def as_read(typed: str) -> str:
    """A code as it was meant: capitals, no dashes or spaces, misread signs put right.

    >>> as_read("k7o1-9xyz ")
    'K7019XYZ'
    """
    return "".join(typed.upper().replace("-", "").split()).translate(_MISREAD)
