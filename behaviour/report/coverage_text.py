"""What walkthroughs have shown of a prop, what they have not, and what is proposed, as text."""

from collections.abc import Iterator, Mapping, Sequence

from behaviour.fingerprint import fingerprint
from behaviour.model import Model, Part
from behaviour.rehearse.beyond import Beyond
from behaviour.rehearse.coverage import Coverage, Mark, Sort
from behaviour.rehearse.proposing import Proposal
from behaviour.source import Source
from behaviour.tell.table import way_words
from behaviour.wording import condition_words, full_name, step_words

NOT_FOUND = "not shown, and no way to it was found: `check` says what can be come to"
PUT = "Proposed, to go under `walkthroughs:` once you have read them and mean them so:"


def coverage_text(
    source: Source,
    model: Model,
    known: Coverage,
    proposed: Sequence[Proposal] = (),
    beyond: Mapping[Mark, Beyond] | None = None,
) -> str:
    """Tell what was shown, and propose walkthroughs for the rest as a file would have them."""
    lines = [f"{source.name}: {model.prop}, fingerprint {fingerprint(model)}"]
    lines.append("What the walkthroughs have shown; whether it is right is for `check` to say.")
    for sort in Sort:
        lines += _of_sort(model, known, proposed, beyond or {}, sort)
    if proposed:
        lines += ["", PUT, "", *proposal_lines(model, proposed)]
    return "\n".join(lines) + "\n"


def proposal_lines(model: Model, proposed: Sequence[Proposal]) -> Iterator[str]:
    """Write proposed walkthroughs as a behaviour file has them, each with what it shows."""
    for each in proposed:
        yield from (f"  # {mark_words(model, mark)}" for mark in each.shows)
        yield f"  {each.walkthrough.name}:"
        yield from (f"    - {step_words(model, step)}" for step in each.walkthrough.steps)


def mark_words(model: Model, mark: Mark) -> str:
    """Name what can be shown: a state, a transition with its line, or a rule."""
    if mark.sort is Sort.RULE:
        return mark.name
    region = model.region[mark.name]
    if mark.sort is Sort.STATE:
        return f"{region.name}.{full_name(region, mark.number)}"
    way = region.transition(mark.number)
    reasons = [] if way.when is None else [condition_words(model, way.when)]
    if way.part is Part.END:
        reasons = ["at the end"]
    where = region.name if way.source is None else region.states[way.source].name
    return f"{where}: {way_words(region, way, reasons)} (line {way.span.line})"


def _of_sort(
    model: Model,
    known: Coverage,
    proposed: Sequence[Proposal],
    beyond: Mapping[Mark, Beyond],
    sort: Sort,
) -> Iterator[str]:
    every, missing = known.of(sort), known.missing(sort)
    if not every:
        return
    yield f"{sort.value:<13}{len(every) - len(missing)} of {len(every)}"
    names = {mark: each.walkthrough.name for each in proposed for mark in each.shows}
    for mark in missing:
        why = NOT_FOUND
        if mark in names:
            why = f"`{names[mark]}` below shows it"
        elif mark in beyond:
            why = beyond[mark].value
        yield f"   {mark_words(model, mark)}"
        yield f"      {why}"
