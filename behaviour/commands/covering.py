"""`rehearse --coverage`: what the walkthroughs of a file have shown, and more of them proposed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from behaviour.commands.answering import BROKEN, OK, complain, progress, put_out

if TYPE_CHECKING:
    from behaviour.pipeline import Readable

SEARCH_SECONDS = 20.0


def coverage(readable: Readable, seconds: float = SEARCH_SECONDS) -> int:
    """Tell what was shown, and propose walkthroughs; one that fails has shown nothing.

    `seconds` are for finding out what no walkthrough can show.
    """
    from behaviour.explore.budget import Budget
    from behaviour.rehearse import coverage as covering
    from behaviour.rehearse.beyond import beyond_walkthroughs
    from behaviour.rehearse.proposing import proposals
    from behaviour.rehearse.walking import perform
    from behaviour.report.coverage_text import coverage_text

    source, model = readable.source, readable.model
    played, failed = [], False
    for walkthrough in model.walkthroughs:
        performance = perform(model, walkthrough)
        if performance.failure is None:
            played.append(performance.moments)
        else:
            failed = True
            why = performance.failure.why
            complain(f"`{walkthrough.name}` fails, and counts for nothing here: {why}")
    known = covering.coverage(model, played)
    with progress(f"looking for walkthroughs of {source.name}"):
        beyond = beyond_walkthroughs(model, Budget(seconds=seconds))
        proposed, _ = proposals(model, known, beyond)
    put_out(coverage_text(source, model, known, proposed, beyond))
    return BROKEN if failed else OK
