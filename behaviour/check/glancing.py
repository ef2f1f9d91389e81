"""What a region never meets, as a first glance shows that looks at no clock and no mechanism."""

from collections.abc import Collection, Iterator

from behaviour.check.asking import Asking
from behaviour.check.marking import Marks, plain_marks
from behaviour.explore.cone import cone
from behaviour.explore.reach import may_meet_any
from behaviour.explore.situations import Question
from behaviour.model import Region


def glance_of(asking: Asking, region: Region) -> "Glance":
    """Give the glance at a region that all share who ask."""
    key = f"glance at {region.name}"
    known = asking.known.get(key)
    if not isinstance(known, Glance):
        known = asking.known[key] = Glance(asking, region)
    return known


class Glance:
    """What a region may meet at the first glance, in sketches without mechanisms, finer and finer.

    What those force is turned at will there. So what such a sketch never meets is never, also while
    a movement stalls. Only what a region meets by itself is looked for: so loops need not be told
    apart by what inputs read. The finest, with every region, is no longer looked through at a
    glance.
    """

    def __init__(self, asking: Asking, region: Region) -> None:
        self.asking, self.region = asking, region
        self.marks = Marks(asking.model, region, dict.fromkeys(plain_marks(asking.model, region)))
        self._seen: list[Collection[object]] = []
        self._regions = len(cone(asking.model, regions=(region.name,)).model.regions)
        self._later = self._drawn()

    def is_never(self, name: object) -> bool:
        """Tell whether one of its marks is shown at a glance never to come true."""
        return name in self.marks.wanted and any(name not in met for met in self._each())

    def _each(self) -> Iterator[Collection[object]]:
        yield from self._seen
        for met in self._later:
            self._seen.append(met)
            yield met

    def _drawn(self) -> Iterator[Collection[object]]:
        if self.asking.model.mechanism:
            question = Question(observers=(self.marks,), looked_at=frozenset())
            for rough in self.asking.sketches(question, regions=(self.region.name,)):
                is_fine = bool(self._seen) and len(rough.model.regions) == self._regions
                met = None if rough.model.mechanism or is_fine else may_meet_any(rough)
                if met is None:
                    return
                yield met
