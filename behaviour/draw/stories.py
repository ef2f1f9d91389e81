"""The stories of findings that can be drawn, and how one is named. It draws nothing."""

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace

from behaviour.draw.flags import finding_name
from behaviour.findings import Finding, Run, Severity
from behaviour.rehearse.stage import run_of
from behaviour.rehearse.walking import Performance

LONGEST_NAME = 60


@dataclass(frozen=True, slots=True)
class Story:
    """A run with a number and a name; `breach` is what the loop shows that it is told for.

    A note's is told only where notes are.
    """

    number: int
    name: str
    title: str
    run: Run
    breach: str
    is_note: bool = False

    @property
    def file_name(self) -> str:
        """Give its number and name as a part of a file's name."""
        plain = re.sub(r"[^a-z0-9]+", "-", self.name.lower())[:LONGEST_NAME].strip("-")
        return f"{self.number}-{plain}" if plain else str(self.number)


def stories_of(findings: Iterable[Finding]) -> tuple[Story, ...]:
    """Give the stories numbers in the order of their findings."""
    told = [(finding, finding.run) for finding in findings if finding.run is not None]
    return tuple(
        Story(
            number,
            finding_name(finding),
            _title(finding),
            run,
            "here" if finding.severity is Severity.NOTE else finding.severity.value,
            is_note=finding.severity is Severity.NOTE,
        )
        for number, (finding, run) in enumerate(told, start=1)
    )


def story_of_walkthrough(name: str, performance: Performance) -> Story:
    """Give what was played of a walkthrough; a step that failed did so in the last loop."""
    run, failure = run_of(performance.moments), performance.failure
    if failure is None:
        return Story(1, name, name, run, "here")
    ended = replace(run, breach=len(run.stimuli) - 1)
    return Story(1, name, f"{name}: fails, since {failure.why}", ended, "fails")


def story_named(stories: Iterable[Story], which: str) -> Story | None:
    """Find the first story with a name, or the one with a number."""
    return next((each for each in stories if which in (each.name, str(each.number))), None)


def _title(finding: Finding) -> str:
    name = finding_name(finding)
    return name if finding.message == name else f"{name}: {finding.message}"
