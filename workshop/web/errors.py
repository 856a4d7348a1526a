"""The one error a rule raises when it says no."""


class Refused(ValueError):
    """A rule of the house was broken; the message is a sentence for the person who asked.

    The sentence says what is wrong, where, and how to mend it. Views show it and keep what was entered.
    """
