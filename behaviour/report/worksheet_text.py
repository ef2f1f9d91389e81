"""The failure worksheet as text for a terminal, with a story for each failure that breaks rules."""

from collections.abc import Iterator
from textwrap import wrap

from behaviour.cautions import CAUTIONS
from behaviour.check.faulting import Cell, Worksheet
from behaviour.fingerprint import fingerprint
from behaviour.model import Model
from behaviour.report.paint import PLAIN, Paint
from behaviour.report.worksheet import UNNOTICED, Words, counted, row_words, stories
from behaviour.source import Source
from behaviour.telling import tell

WIDTH = 100
VERDICT_WIDTH = len(Cell.BEYOND.value)
INDENT = " " * (VERDICT_WIDTH + 2)

MEANS = {
    Cell.CAUGHT: "every rule is kept all the same",
    Cell.BROKEN: "a rule breaks, and the readings show that something is wrong: the file could do "
    "better",
    Cell.BEYOND: "a rule breaks, and what is read up to there could come from a healthy prop: no "
    "program can tell, so a cut-off without software must take it",
    Cell.NOT_DECIDED: "nothing was found, and nothing was shown",
}


def worksheet_text(
    source: Source, model: Model, sheet: Worksheet, seconds: float, paint: Paint = PLAIN
) -> str:
    """Lay out the whole worksheet."""
    lines: list[str] = []
    for row in sheet.rows:
        words = row_words(model, row)
        verdict = _painted(row.cell, paint) + " " * (VERDICT_WIDTH - len(row.cell.value))
        lines.append(f"{verdict}  {paint.strong(words.item)} {words.mode}")
        lines += _listed("breaks", words.breaks)
        if row.cell is not Cell.CAUGHT:
            lines += _listed("notices", _noticed(words))
    for row, effect in stories(sheet):
        words = row_words(model, row)
        lines += ["", f"{paint.bad(effect.cell.value)}  {effect.name}: {words.item} {words.mode}"]
        lines += wrap(words.effect, WIDTH, initial_indent="   ", subsequent_indent="   ")
        run = None if effect.finding is None else effect.finding.run
        if run is None:
            lines.append("   the same story as above")
        else:
            lines += [f"   {line}" for line in tell(model, run)]
    return "\n".join([*lines, "", *_summary(source, model, sheet, seconds), ""])


def _noticed(words: Words) -> tuple[str, ...]:
    if words.notices == UNNOTICED:
        return ("nothing",)
    return tuple(f"{how} -> {does}" for how, does in zip(words.notices, words.does, strict=True))


def _listed(head: str, lines: tuple[str, ...]) -> Iterator[str]:
    for at, line in enumerate(lines):
        lead = f"{INDENT}{head}: " if at == 0 else INDENT + " " * (len(head) + 2)
        yield from wrap(line, WIDTH, initial_indent=lead, subsequent_indent=INDENT + "  ")


def _summary(source: Source, model: Model, sheet: Worksheet, seconds: float) -> Iterator[str]:
    for cell, count in counted(sheet).items():
        if count:
            head = f"{count:>4} {cell.value}: "
            yield from wrap(MEANS[cell], WIDTH, initial_indent=head, subsequent_indent="     ")
    yield ""
    yield f"{source.name}: {model.prop}, fingerprint {fingerprint(model)}, in {seconds:.1f} s"
    if any(output.hazard for output in model.outputs):
        yield ""
        yield "This prop can hurt somebody, and no worksheet makes it safe:"
        for caution in CAUTIONS:
            yield from wrap(caution, WIDTH, initial_indent=" - ", subsequent_indent="   ")


def _painted(cell: Cell, paint: Paint) -> str:
    match cell:
        case Cell.CAUGHT:
            return paint.good(cell.value)
        case Cell.BROKEN:
            return paint.bad(cell.value)
        case Cell.BEYOND | Cell.NOT_DECIDED:
            return paint.doubtful(cell.value)
