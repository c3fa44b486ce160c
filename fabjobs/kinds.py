"""What the kinds of work are called where people read them; most by their own key."""

NAMES = {"hand-cut": "cut by hand", "seal": "seal in", "stand": "set in place"}


def kind_name(kind: str) -> str:
    """
    >>> kind_name("hand-cut"), kind_name("weld")
    ('cut by hand', 'weld')
    """
    return NAMES.get(kind, kind)
