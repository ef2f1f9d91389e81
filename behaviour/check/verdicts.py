"""What a family of checks gives back: a verdict on each of its checks, and what it has found."""

from collections.abc import Callable
from dataclasses import dataclass, field

from behaviour.check.stopping import why_open
from behaviour.explore.budget import LimitError
from behaviour.findings import KIND, Answer, Finding, Label, Run, Verdict
from behaviour.semantics import NotKnownError
from behaviour.source import Span


@dataclass(frozen=True, slots=True)
class Told:
    """What one family of checks gives."""

    verdicts: tuple[Verdict, ...]
    findings: tuple[Finding, ...]


@dataclass(slots=True)
class Verdicts:
    """Collects the verdicts of one check over several questions: the worst counts."""

    name: str
    broken: bool = False
    why: list[str] = field(default_factory=list)

    def decide(self, ask: Callable[[], bool]) -> None:
        """Ask a question that answers whether something was found."""
        try:
            self.broken = ask() or self.broken
        except (NotKnownError, LimitError) as stop:
            self.leave_open(stop)

    def leave_open(self, stop: NotKnownError | LimitError) -> None:
        """Take note of why a question has no answer."""
        self.why.append(why_open(stop))

    def verdict(self) -> Verdict:
        if self.broken:
            why = "; ".join(dict.fromkeys(self.why))
            return Verdict(name=self.name, answer=Answer.BROKEN, why=why)
        if self.why:
            return Verdict(
                name=self.name, answer=Answer.NOT_DECIDED, why="; ".join(dict.fromkeys(self.why))
            )
        return Verdict(name=self.name, answer=Answer.HOLDS)


def finding(  # noqa: PLR0913
    name: str,
    message: str,
    span: Span,
    label: str,
    *,
    run: Run | None = None,
    hint: str = "",
    place: tuple[str, str] | None = None,
    rule: str | None = None,
    related: tuple[Label, ...] = (),
    subject: tuple[str | int, ...] = (),
) -> Finding:
    """Put a finding together from its facts, with its kind's own severity."""
    kind = KIND[name]
    return Finding(
        kind=kind,
        severity=kind.severity,
        message=message,
        at=Label(span, label),
        related=related,
        hint=hint,
        run=run,
        place=place,
        rule=rule,
        subject=subject,
    )
