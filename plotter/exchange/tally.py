"""What an import took and what it left, by kind and number: nothing is left without a word."""

from collections import Counter
from dataclasses import dataclass, field

__all__ = ["Tally"]


@dataclass(slots=True)
class Tally:
    """Counts of what was taken and of what was left; kinds are named in the plural.

    Parameters
    ----------
    taken, left : Counter of str
        Numbers by kind, in the order in which they came up.
    """

    taken: Counter[str] = field(default_factory=Counter)
    left: Counter[str] = field(default_factory=Counter)

    def take(self, kind: str, number: int = 1) -> None:
        """Count something that is now in the log."""
        if number:
            self.taken[kind] += number

    def leave(self, kind: str, number: int = 1) -> None:
        """Count something that is not."""
        if number:
            self.left[kind] += number

    def lines(self) -> tuple[str, ...]:
        """Both for people: at most one line each."""
        pairs = (("taken", self.taken), ("left out", self.left))
        return tuple(
            f"{head}: " + "; ".join(f"{kind} {number}" for kind, number in counts.items())
            for head, counts in pairs
            if counts
        )
