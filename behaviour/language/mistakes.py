"""Collects what is wrong in a file, each cause once. It knows no rule of the language."""

from collections.abc import Hashable
from dataclasses import dataclass, field, replace

from behaviour.findings import Label, Mistake
from behaviour.source import Span

MOST_PLACES = 3
"""Further places at which one mistake shows that are listed with it."""


@dataclass(slots=True)
class Mistakes:
    """The mistakes found so far. What is added again at its place counts once."""

    _found: dict[Hashable, Mistake] = field(default_factory=dict)
    _places: dict[Hashable, list[Span]] = field(default_factory=dict)

    def add(
        self,
        span: Span,
        message: str,
        *,
        label: str = "",
        hint: str = "",
        related: tuple[Label, ...] = (),
    ) -> None:
        """Report a mistake at a place."""
        at = Label(span, label)
        self.put(Mistake(message=message, at=at, related=related, hint=hint))

    def put(self, mistake: Mistake) -> None:
        """Take over a mistake that is worded already."""
        self._found.setdefault((mistake.at.span, mistake.message), mistake)

    def add_once(
        self,
        cause: Hashable,
        span: Span,
        message: str,
        *,
        label: str = "",
        hint: str = "",
        related: tuple[Label, ...] = (),
    ) -> None:
        """Report a mistake at the first place that `cause` shows at; later ones go with it."""
        if cause in self._found:
            self._places[cause].append(span)
            return
        self._places[cause] = []
        at = Label(span, label)
        self._found[cause] = Mistake(message=message, at=at, related=related, hint=hint)

    def listed(self) -> tuple[Mistake, ...]:
        """List every mistake in the order of its place."""
        found = [self._with_places(cause, mistake) for cause, mistake in self._found.items()]
        return tuple(sorted(found, key=lambda mistake: (mistake.at.span, mistake.message)))

    def __len__(self) -> int:
        return len(self._found)

    def _with_places(self, cause: Hashable, mistake: Mistake) -> Mistake:
        spans = [span for span in self._places.get(cause, ()) if span != mistake.at.span]
        if not spans:
            return mistake
        first, *others = sorted({mistake.at.span, *spans})
        related = [Label(span, "and here") for span in others[:MOST_PLACES]]
        if len(others) > MOST_PLACES:
            more = len(others) - MOST_PLACES
            related[-1] = Label(related[-1].span, f"and here, and at {more} more")
        return replace(
            mistake,
            at=Label(first, mistake.at.text),
            related=(*mistake.related, *related),
        )
