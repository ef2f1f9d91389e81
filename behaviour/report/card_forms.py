"""The operator's card: one page to hang beside the prop, as Markdown and as HTML."""

from collections.abc import Iterator
from html import escape
from itertools import groupby

from behaviour.cautions import CAUTIONS
from behaviour.model import Model
from behaviour.report import markdown
from behaviour.report.page import PORTRAIT, cautions_part, copy_of, html_list, html_page
from behaviour.report.sentences_html import words_html
from behaviour.source import Source
from behaviour.tell.card import Card, Stop, card_of, spoken

STYLE = """
.card { font-size: 9pt; } .card h2 { margin: .7em 0 .2em; } .card p { margin: .2em 0; }
.two { display: grid; grid-template-columns: 2fr 3fr; column-gap: 2em; }
.big { font-size: 12pt; } dl { margin: 0; } dt { font-weight: bold; }
dd { margin: 0 0 .25em 1em; } .card ul { padding-left: 1.1em; }
code { font-family: inherit; font-weight: 600; }
@media screen and (max-width: 40em) { .two { grid-template-columns: 1fr; } }
"""

ON, SAFE, CALL = "Switch on", "Make it safe", "Call"
STOPS, SIGNS, DEEDS = "When it stops or waits", "What it shows", "What happens when"
CARE = "Mind"
OPEN = "not written down: ask before you go on"


def card_markdown(source: Source, model: Model) -> str:
    """Write the card as Markdown."""
    card = card_of(model)
    plain = markdown.plain
    parts = [f"# {plain(card.prop)}\n\n{plain(card.about)}\n"]
    parts += [f"\n**{head}**: {plain(text)}\n" for head, text in _heads(card)]
    if card.stops:
        rows = [[plain(_looks(stop)), f"**{plain(stop.says)}**"] for stop in card.stops]
        parts.append(f"\n## {STOPS}\n\n{markdown.table(['it shows', 'then'], rows)}")
    if card.signs:
        rows = [
            [plain(f"{spoken(each.output)} {spoken(each.value)}"), plain(each.means)]
            for each in card.signs
        ]
        parts.append(f"\n## {SIGNS}\n\n{markdown.table(['it shows', 'it is in'], rows)}")
    if card.deeds:
        rows = [[plain(each.what), "<br>".join(map(plain, each.comes))] for each in card.deeds]
        parts.append(f"\n## {DEEDS}\n\n{markdown.table(['when', 'it goes'], rows)}")
    if _is_dangerous(model):
        parts.append(f"\n## {CARE}\n\n{markdown.bullets(CAUTIONS)}")
    return "".join([*parts, f"\n{markdown.copy_of(source, model)}\n"])


def card_html(source: Source, model: Model) -> str:
    """Lay the card out as one page of HTML."""
    card = card_of(model)
    parts = ['<div class="card">', f"<p>{escape(card.about)}</p>"]
    parts += [f'<p class="big"><b>{head}:</b> {escape(text)}</p>' for head, text in _heads(card)]
    parts += [*_stops_part(card), '<div class="two">', *_signs_part(card), *_deeds_part(card)]
    parts += ["</div>", *cautions_part(model, CARE), copy_of(source, model), "</div>"]
    return html_page(card.prop, parts, STYLE + PORTRAIT)


def _heads(card: Card) -> tuple[tuple[str, str], ...]:
    """Give what comes first on the card; what the file leaves out is said to be missing."""
    return (
        (ON, card.switch_on or OPEN),
        (SAFE, card.make_safe or OPEN),
        (CALL, card.call or OPEN),
    )


def _stops_part(card: Card) -> Iterator[str]:
    if not card.stops:
        return
    yield f"<h2>{STOPS}</h2>\n<table>\n<tbody>"
    for stop in card.stops:
        yield f'<tr><th scope="row">{escape(_looks(stop))}</th><td>{escape(stop.says)}</td></tr>'
    yield "</tbody>\n</table>"


def _signs_part(card: Card) -> Iterator[str]:
    if not card.signs:
        return
    yield f"<section>\n<h2>{SIGNS}</h2>"
    for output, signs in groupby(card.signs, key=lambda sign: sign.output):
        yield f"<p><b>{escape(spoken(output))}</b></p>"
        yield html_list(f"{spoken(each.value)}: {each.means}" for each in signs)
    yield "</section>"


def _deeds_part(card: Card) -> Iterator[str]:
    if not card.deeds:
        return
    yield f"<section>\n<h2>{DEEDS}</h2>\n<dl>"
    for deed in card.deeds:
        yield f"<dt>{escape(deed.what)}</dt>"
        for line in deed.comes:
            yield f"<dd>{words_html(line)}</dd>"
    yield "</dl>\n</section>"


def _looks(stop: Stop) -> str:
    return stop.looks or f"nothing ({stop.state})"


def _is_dangerous(model: Model) -> bool:
    return any(output.hazard for output in model.outputs)


WRITERS = {"markdown": card_markdown, "html": card_html}
