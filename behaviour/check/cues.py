"""Cues that never come, since their state is always left before: `never-reached`."""

from collections.abc import Collection, Container, Iterator
from dataclasses import replace

from behaviour.check.verdicts import finding
from behaviour.explore.meeting import Covered
from behaviour.explore.walking.marks import cues_of
from behaviour.findings import Finding, Severity
from behaviour.model import Region
from behaviour.wording import cue_name


def cues_beaten(
    region: Region, met: Collection[object], entered: Collection[int]
) -> dict[int, int]:
    """Map each state that is entered to the first of its cues that never comes, counted from 1.

    Of a state that may never be entered nothing is told: its cues would not be named then.
    """
    found: dict[int, int] = {}
    for number, (state, fired) in enumerate(cues_of(region)):
        if state in entered and ("cue", region.name, number) not in met:
            found.setdefault(state, fired)
    return found


def of_cues(
    region: Region, healthy: Container[object], all_covered: Covered, beaten: dict[int, int]
) -> Iterator[Finding]:
    """Tell of the cues that never come; of each state the first, for none after it can come."""
    saved: set[int] = set()
    for number, (at, fired) in enumerate(cues_of(region)):
        state, mark = region.states[at], ("cue", region.name, number)
        name = cue_name(state, fired)
        if beaten.get(at) == fired:
            yield finding(
                "never-reached",
                f"no run ever comes to `{region.name}.{name}`",
                state.cues[fired - 1].span,
                f"`{state.name}` is always left before its time has come",
                place=(region.name, state.name),
                subject=(region.name, name),
            )
        elif (
            at not in saved
            and mark in all_covered.runs
            and mark not in healthy
            and mark not in all_covered.open
            and ("state", region.name, at) in healthy
        ):
            saved.add(at)
            note = finding(
                "never-reached",
                f"only a movement that never ends leads to `{region.name}.{name}`",
                state.cues[fired - 1].span,
                "your safety net",
                place=(region.name, state.name),
                subject=(region.name, name),
                run=all_covered.runs[mark],
            )
            yield replace(note, severity=Severity.NOTE)
