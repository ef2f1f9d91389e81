"""How walkthroughs came out, as text for people. It judges nothing: it lays out what was played."""

from behaviour.findings import Label
from behaviour.model import Model
from behaviour.rehearse.stage import run_of
from behaviour.rehearse.walking import Performance
from behaviour.report.marked import marked_lines, place_of
from behaviour.report.paint import PLAIN, Paint
from behaviour.report.text import story_text
from behaviour.source import Source
from behaviour.telling import clock, tell

INDENT = "   "


def performance_text(
    source: Source,
    model: Model,
    name: str,
    performance: Performance,
    *,
    story: bool = False,
    paint: Paint = PLAIN,
) -> str:
    """Tell how one walkthrough came out, where it failed, and what happened up to there.

    With `story` what happened is told also where it did not fail.
    """
    failure = performance.failure
    until = clock(model, max(len(performance.moments) - 1, 0))
    if failure is None:
        lines = [f"{paint.good('as told')}  {name}: {until} s"]
    else:
        label = Label(failure.step.span, failure.why)
        lines = [f"{paint.bad('failed')}   {name}  {place_of(source, label)}"]
        lines.append(f"{INDENT}at {until} s: {failure.why}")
        room = paint.width - len(INDENT) - 1 if paint.is_narrow else None
        marked = marked_lines(source, (Label(label.span, ""),), room)
        lines += [f"{INDENT} {line}" for line in marked]
    if story or failure is not None:
        lines += story_text(story_lines(model, performance), paint)
    return "\n".join(lines) + "\n"


def story_lines(model: Model, performance: Performance) -> tuple[str, ...]:
    """Tell what was played."""
    return tell(model, run_of(performance.moments)) if performance.moments else ()
