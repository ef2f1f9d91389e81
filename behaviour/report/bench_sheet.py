"""The sheet for the bench as text and as a page, with a place for initials at each trial."""

import json
from collections.abc import Iterator, Sequence
from html import escape
from textwrap import wrap

from behaviour.bench.trials import Part, trials
from behaviour.cautions import CAUTIONS
from behaviour.check.faulting import Cell
from behaviour.fingerprint import fingerprint
from behaviour.model import Model
from behaviour.report.page import PORTRAIT, copy_of, html_list, html_page
from behaviour.report.sentences_html import words_html
from behaviour.source import Source

WIDTH = 100
STYLE = """
table { table-layout: fixed; } .n { width: 2.5em; } .i { width: 7em; }
code { font: inherit; font-weight: bold; }
"""
ENDS_THE_DAY = "A trial that fails ends the day: write down what was seen, and mend it first."
SIGNED = "day: ____-__-__   by: ______________   build: ________________________"


def bench_text(source: Source, model: Model, beyond: Sequence[str] = ()) -> str:
    """Lay the sheet out as text."""
    lines = [f"{model.prop}: on the bench", f"{source.name}, fingerprint {fingerprint(model)}"]
    lines += ["", SIGNED, "", "Before anything is switched on:"]
    for caution in CAUTIONS:
        lines += wrap(caution, WIDTH, initial_indent=" - ", subsequent_indent="   ")
    lines += ["", ENDS_THE_DAY]
    for letter, part in _lettered(model, beyond):
        lines += ["", f"{letter}  {part.title}: {part.before}"]
        for number, trial in enumerate(part.trials, 1):
            lead = f"   {letter}{number}".ljust(8)
            lines += wrap(trial.does, WIDTH, initial_indent=lead, subsequent_indent=" " * 8)
            seen = list(wrap(f"-> {trial.sees}", WIDTH - 24))
            lines.append(f"        {seen[0]}".ljust(WIDTH - 14) + "  ____________")
            lines += [f"           {line}" for line in seen[1:]]
    return "\n".join([*lines, ""])


def bench_html(source: Source, model: Model, beyond: Sequence[str] = ()) -> str:
    """Lay the sheet out as a page to print."""
    parts = [copy_of(source, model), f"<p>{SIGNED}</p>", "<h2>Before anything is switched on</h2>"]
    parts += [html_list(CAUTIONS), f"<p>{ENDS_THE_DAY}</p>"]
    for letter, part in _lettered(model, beyond):
        rows = "".join(
            f"<tr><td>{letter}{number}</td><td>{words_html(trial.does)}</td>"
            f"<td>{words_html(trial.sees)}</td><td></td></tr>"
            for number, trial in enumerate(part.trials, 1)
        )
        parts.append(
            f"<h2>{letter}. {escape(part.title)}</h2><p>{escape(part.before)}</p><table><thead>"
            '<tr><th class="n"></th><th>do</th><th>see</th><th class="i">initials</th></tr></thead>'
            f"<tbody>{rows}</tbody></table>"
        )
    return html_page(f"On the bench: {model.prop}", parts, STYLE + PORTRAIT)


def beyond_software(model: Model, worksheet: str) -> tuple[str, ...]:
    """Take from a failure worksheet, as JSON, what no program can tell.

    Raises ValueError with half a sentence where it is none, or of another file.
    """
    try:
        told = json.loads(worksheet)
        made_of, rows = told["fingerprint"], told["rows"]
        found = tuple(
            f"{row['item']} {row['mode']}: {row['effect']}"
            for row in rows
            if row["verdict"] == Cell.BEYOND.value
        )
    except (json.JSONDecodeError, KeyError, TypeError):
        raise ValueError("is no worksheet: `faults SPEC --as json` writes one") from None
    if made_of != fingerprint(model):
        raise ValueError(f"is of a file with fingerprint {made_of}: make it again")
    return found


def _lettered(model: Model, beyond: Sequence[str]) -> Iterator[tuple[str, Part]]:
    return zip("ABCDEFGH", trials(model, beyond), strict=False)
