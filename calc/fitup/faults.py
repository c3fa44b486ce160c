"""What is wrong with sizes as measured, in words."""


class FitFault(ValueError):
    """Sizes that give no outline: the key of the one to look at first, and a sentence."""

    def __init__(self, key: str, text: str) -> None:
        super().__init__(text)
        self.key, self.text = key, text
