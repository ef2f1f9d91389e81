"""The numbers of a prop as text for a terminal: each with its formula and what was put in."""

from collections.abc import Iterator, Sequence
from textwrap import wrap

from behaviour.cautions import CAUTIONS
from behaviour.fingerprint import fingerprint
from behaviour.model import Model
from behaviour.numbers.results import Bars, Block, Given, Lacking, Result, Table
from behaviour.report.figures import plain, with_unit
from behaviour.report.paint import PLAIN, Paint
from behaviour.source import Source

WIDTH = 100


def numbers_text(
    source: Source, model: Model, blocks: Sequence[Block], paint: Paint = PLAIN
) -> str:
    """Lay out every block."""
    lines: list[str] = []
    for block in blocks:
        lines += [*_block(block, paint), ""]
    lines.append(f"{source.name}: {model.prop}, fingerprint {fingerprint(model)}")
    guesses = guesses_of(blocks)
    if guesses:
        lines += _wrapped(f"It rests on guesses: {', '.join(guesses)}", "", "   ")
    lines += ["", "Test first with the motor uncoupled:"]
    for caution in CAUTIONS:
        lines += _wrapped(caution, " - ", "   ")
    return "\n".join([*lines, ""])


def guesses_of(blocks: Sequence[Block]) -> tuple[str, ...]:
    """Name every guess that some result rests on."""
    found = [name for block in blocks for each in block.results for name in rests_on(each)]
    return tuple(dict.fromkeys(found))


def rests_on(part: Result | Lacking) -> tuple[str, ...]:
    return part.guesses if isinstance(part, Result) else ()


def put_in(given: Given) -> str:
    """Say what stands for a symbol of a formula, and where that is from."""
    return f"{given.symbol} = {with_unit(given.value, given.unit)}, {given.says} ({given.known})"


def _block(block: Block, paint: Paint) -> Iterator[str]:
    yield paint.strong(block.name)
    yield from _wrapped(block.about, "   ", "   ")
    for part in block.results:
        match part:
            case Lacking():
                yield f"   {part.says}: needs {', '.join(f'`{name}`' for name in part.figures)}"
            case Result():
                yield from _result(part, paint)
    for table in block.tables:
        yield from _table(table)
    for chart in block.charts:
        if isinstance(chart, Bars):
            yield from _bars(chart, paint)
    for remark in block.remarks:
        yield from _wrapped(remark, "   note: ", "         ")


def _result(part: Result, paint: Paint) -> Iterator[str]:
    value = paint.strong(with_unit(part.value, part.unit))
    yield f"   {part.says}: {value}"
    if part.formula not in {each.symbol for each in part.given}:
        yield from _wrapped(f"= {part.formula}   [{part.source}]", "      ", "        ")
    for given in part.given:
        yield from _wrapped(put_in(given), "        ", "          ")
    if part.advice:
        words = list(_wrapped(part.advice, "      -> ", "         "))
        yield from (paint.doubtful(line) if part.weight == "doubtful" else line for line in words)
    if part.guesses:
        yield from _wrapped(f"rests on a guess: {', '.join(part.guesses)}", "      ", "        ")


def _table(table: Table) -> Iterator[str]:
    yield from _wrapped(table.title, "   ", "      ")
    rows = (table.head, *table.rows)
    widths = [max(len(row[column]) for row in rows) for column in range(len(table.head))]
    for row in rows:
        cells = (cell.ljust(width) for cell, width in zip(row, widths, strict=True))
        yield f"      {'  '.join(cells)}".rstrip()
    if table.source:
        yield f"      [{table.source}]"


def _bars(chart: Bars, paint: Paint) -> Iterator[str]:
    yield f"   {chart.title}"
    for bar in chart.bars:
        parts = " + ".join(f"{says} {plain(length)}" for says, length in bar.parts)
        left = f"{plain(bar.left)} left" if bar.left >= 0 else f"{plain(-bar.left)} too long"
        line = f"      {bar.says}: {parts} of {plain(bar.allowed)}: {left}"
        yield line if bar.left >= 0 else paint.doubtful(line)


def _wrapped(text: str, first: str, then: str) -> list[str]:
    return wrap(text, WIDTH, initial_indent=first, subsequent_indent=then)
