"""What was measured of bounce and interference, as a table, and as the file would have it."""

from collections.abc import Iterator, Sequence

from behaviour.bench.noise import Burst, Noise, with_noise
from behaviour.model import Model
from behaviour.numbers.results import Table
from behaviour.report.figures import plain
from behaviour.telling import clock_at

FINEST = 1000
HEAD = (
    "input",
    "changes",
    "longest bounce",
    "longest disturbance, driven",
    "the same, all at rest",
    "to write in the file",
)
UNSEEN = (
    "what was measured is the longest that was seen: a contact may bounce longer, and what lasted "
    "less than the recorder's own step was not seen at all"
)


def noise_table(model: Model, measured: Sequence[Noise]) -> Table:
    """Lay out what was seen of each input. With nothing seen it says so, and never that none is."""
    later = with_noise(model, measured)
    return Table(
        title="measured in the recordings: the longest burst of changes, in ms, and when it began",
        head=HEAD,
        rows=tuple(
            (
                noise.input,
                str(noise.changes),
                _burst(noise.bounce),
                _burst(noise.interference),
                _burst(noise.at_rest),
                ", ".join(_to_write(model, later, noise.input)) or "-",
            )
            for noise in measured
        ),
    )


def _burst(burst: Burst | None) -> str:
    if burst is None:
        return "none seen"
    drives = f" ({', '.join(burst.drives)})" if burst.drives and not burst.is_change else ""
    return f"{plain(burst.lasted / 1000)} at {clock_at(burst.at, FINEST)} s{drives}"


def _to_write(model: Model, later: Model, name: str) -> Iterator[str]:
    before = dict(model.input[name].noise)
    for kind, quantity in later.input[name].noise:
        if before.get(kind) != quantity:
            yield f"{kind}: {{value: {plain(quantity.number)} ms, known: measured}}"
