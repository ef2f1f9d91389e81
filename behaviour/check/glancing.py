"""What a region never meets, as a first glance shows that looks at no clock and no mechanism."""

from collections.abc import Collection, Iterator

from behaviour.check.asking import Asking
from behaviour.check.counting import kept_within
from behaviour.check.marking import Marks, Name, plain_marks
from behaviour.explore.cone import cone
from behaviour.explore.forgetting import counted_by
from behaviour.explore.meeting import may_meet_any
from behaviour.explore.reach import Lookout
from behaviour.explore.situations import Question
from behaviour.model import Model, Region


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
    glance. Each is looked at without its counters first.
    """

    def __init__(self, asking: Asking, region: Region) -> None:
        self.asking, self.region = asking, region
        self.marks = Marks(asking.model, region, dict.fromkeys(plain_marks(asking.model, region)))
        self._drawn: list[Lookout] = []
        self._finer = self._to_be_drawn()
        self._met: dict[int, Collection[object] | None] = {}
        """What those sketches may meet that were looked at; None where a limit stops it."""

    def is_never(self, name: Name, *, at_once: bool = False) -> bool:
        """Tell whether something that a region meets by itself is shown never to come true.

        `at_once` nothing more is looked at than the first sketch.
        """
        if name[0] == "beyond" and name[1] in kept_within(self.asking.model, self.region):
            return True
        return name in self.marks.wanted and any(
            name not in met
            for number, rough in enumerate(self._each())
            if _is_seen(name, rough.model) and (number in self._met or not (at_once and number))
            if (met := self._look(number, rough)) is not None
        )

    def _each(self) -> Iterator[Lookout]:
        yield from self._drawn
        for rough in self._finer:
            self._drawn.append(rough)
            yield rough

    def _look(self, number: int, rough: Lookout) -> Collection[object] | None:
        if number not in self._met:
            self._met[number] = may_meet_any(rough)
        return self._met[number]

    def _to_be_drawn(self) -> Iterator[Lookout]:
        if not self.asking.model.mechanism:
            return
        everything = len(cone(self.asking.model, regions=(self.region.name,)).model.regions)
        question = Question(observers=(self.marks,), looked_at=frozenset())
        few = everything
        for rough in self.asking.sketches(question, regions=(self.region.name,), uncounting=True):
            regions = len(rough.model.regions)
            few = min(few, regions)
            if rough.model.mechanism or few < regions == everything:
                return
            yield rough


def _is_seen(name: Name, part: Model) -> bool:
    """Tell whether a drawing shows what a region meets: a count is not told where nobody counts."""
    return name[0] != "beyond" or any(name[1] in counted_by(each) for each in part.regions)
