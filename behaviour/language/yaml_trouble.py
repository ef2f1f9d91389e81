"""Where reading YAML gave up: the place, the line it is in, and a mistake reported there."""

from dataclasses import dataclass

from behaviour.findings import Label, Mistake
from behaviour.language.nodes import Places


@dataclass(frozen=True, slots=True)
class Trouble:
    """Where the scanner gave up (`at`), and where what it was reading began (`since`)."""

    places: Places
    context: str
    since: int
    at: int

    @property
    def sign(self) -> str:
        return self.places.text[self.at : self.at + 1]

    def line(self, index: int) -> str:
        """Give the line that holds `index`."""
        start = self.line_start(index)
        return self.places.text[start:].split("\n", 1)[0].rstrip("\r")

    def line_start(self, index: int) -> int:
        return self.places.text.rfind("\n", 0, index) + 1

    def here(self, message: str, hint: str) -> Mistake:
        """Report the sign at which the scanner gave up."""
        return plain(self.places, self.at, self.at + 1, message, hint)

    def from_its_beginning(self, message: str, hint: str) -> Mistake:
        """Report the sign at which began what the scanner was reading."""
        return plain(self.places, self.since, self.since + 1, message, hint)


def plain(places: Places, start: int, end: int, message: str, hint: str = "") -> Mistake:
    """Report a stretch of the file with nothing beside it."""
    return Mistake(message=message, at=Label(places.span(start, end), "here"), hint=hint)
