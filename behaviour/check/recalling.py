"""What `whenever OUTPUT becomes v` needs: the outputs that the loop before found.

A loop finds the outputs that the last one left; whether one of them has just become what it is
shows only beside what the last one found. A watch around another remembers that for it.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from behaviour.check.watching import BREACH
from behaviour.explore.guards import Limit, atoms
from behaviour.explore.situations import Moment, Next, Watch
from behaviour.model import Becomes, Condition, Model, Output


@dataclass(frozen=True, slots=True)
class Recalling:
    """Lets `inner` see which of `outputs` have become what a loop finds them at.

    A place is that of `inner` and the values that the last loop found, numbered together.
    """

    inner: Watch
    outputs: tuple[Output, ...]

    def begin(self, number: int, moment: Moment) -> Iterator[Next]:
        yield from self._with_found(self.inner.begin(number, moment), moment)

    def go_on(self, number: int, place: int, moment: Moment) -> Iterator[Next]:
        if place == BREACH:
            yield Next(BREACH)
        else:
            seen = self._recalled(place, moment)
            yield from self._with_found(self.inner.go_on(number, self.inside(place), seen), moment)

    def limits(self, place: int) -> Iterable[tuple[int, Limit]]:
        return self.inner.limits(self.inside(place))

    def inside(self, place: int) -> int:
        """Give the place of the watch inside."""
        return place if place == BREACH else place // self._size

    @property
    def _size(self) -> int:
        size = 1
        for output in self.outputs:
            size *= len(output.values)
        return size

    def _with_found(self, nexts: Iterable[Next], moment: Moment) -> Iterator[Next]:
        """Remember what the loop has found; loop 0 finds what it leaves."""
        now = moment.now
        outputs = now.outputs if moment.before is None else now.outputs_before
        code = 0
        for output in self.outputs:
            value = outputs[now.model.output_index[output.name]]
            code = code * len(output.values) + output.values.index(value)
        for each in nexts:
            yield (
                each
                if each.place == BREACH
                else each._replace(place=each.place * self._size + code)
            )

    def _recalled(self, place: int, moment: Moment) -> Moment:
        code = place % self._size
        before = list(moment.was.outputs_before)
        for output in reversed(self.outputs):
            code, value = divmod(code, len(output.values))
            before[moment.model.output_index[output.name]] = output.values[value]
        return replace(moment, was=moment.was._replace(outputs_before=tuple(before)))


def recalling(model: Model, watch: Watch, found: Condition) -> Watch:
    """Let a watch see the changes of outputs that a condition names, if it names any."""
    names = {
        atom.name: None
        for atom in atoms(found)
        if isinstance(atom, Becomes) and atom.name in model.output
    }
    return Recalling(watch, tuple(model.output[name] for name in names)) if names else watch


def inside(watch: Watch, place: int) -> int:
    """Give the place in which a watch is that may have been let see such changes."""
    return watch.inside(place) if isinstance(watch, Recalling) else place
