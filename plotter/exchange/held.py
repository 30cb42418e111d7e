"""What a log already holds of a file: an import or a following that goes on where it stopped."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final, Self

from plotter.errors import LogError
from plotter.exchange.data_lines import LineReader
from plotter.exchange.guarded import lines_of
from plotter.exchange.tally import Tally
from plotter.log.events.event import Entry, Event

__all__ = ["Held", "present_entries"]

_LAST: Final = 3


@dataclass(slots=True)
class Held:
    """Entries of one file that a log holds, by their line and text.

    Counted, since one line may have made several entries.

    Parameters
    ----------
    last : tuple of (int, str)
        Line and text of those that were written last.
    passed : int
        How many entries were not written again.
    """

    last: tuple[tuple[int, str], ...] = ()
    passed: int = 0
    _texts: dict[int, list[str]] = field(default_factory=dict)
    _lines: frozenset[int] = frozenset()

    @classmethod
    def of(cls, events: Sequence[Event], name: str) -> Self:
        """What some events hold of the file of a name."""
        found = cls()
        all_of_it: list[tuple[int, str]] = []
        for event in events:
            if event.source is not None and event.source.file == name:
                found._texts.setdefault(event.source.line, []).append(event.text)
                all_of_it.append((event.source.line, event.text))
        found.last = tuple(all_of_it[-_LAST:])
        found._lines = frozenset(found._texts)
        return found

    def __bool__(self) -> bool:
        """Whether the log holds anything of it."""
        return bool(self._texts)

    def take(self, reader: LineReader, number: int, text: str, *, cut: bool = False) -> list[Entry]:
        """Entries of a line, as they were made when it was taken before.

        Where a second of a receiver was written down before it was over, it is over there again.
        """
        made = reader.take(number, text, cut=cut)
        return made + reader.finish() if number in self._lines else made

    def begins(self, entries: Sequence[Entry]) -> bool:
        """Whether entries are those of the same file: what was written last is among them.

        A last line that had no end yet may have grown since.
        """
        made: dict[int, list[str]] = {}
        for entry in entries:
            made.setdefault(entry.source.line if entry.source else 0, []).append(entry.text)
        return any(
            text.startswith(written) for line, written in self.last for text in made.get(line, ())
        )

    def without(self, entries: Sequence[Entry]) -> list[Entry]:
        """Those entries that the log does not hold."""
        new = []
        for entry in entries:
            texts = self._texts.get(entry.source.line, []) if entry.source else []
            if entry.text in texts:
                texts.remove(entry.text)
                self.passed += 1
            else:
                new.append(entry)
        return new

    def forget(self) -> None:
        """Take everything that comes from here on."""
        self._texts, self._lines = {}, frozenset()


def present_entries(path: Path, lines: LineReader, held: Held) -> Iterator[Entry]:
    """Entries of what a file holds now, as a reader would make them; nothing for a pipe."""
    if not path.is_file():
        return
    reader = LineReader(
        lines.name, lines.sender, lines.operator, lines.channel, lines.near_utc, lines.every_s,
        stream=lines.stream, tally=Tally(),
    )  # fmt: skip
    try:
        for number, text, cut in lines_of(path):
            yield from held.take(reader, number, text, cut=cut)
    except LogError:
        return
    yield from reader.finish()
