"""Runs by what they end in, each laid out only when somebody asks for it.

Most are never told: that there is one is enough. A run of minutes takes megabytes.
"""

from collections.abc import Callable, Iterator, Mapping

from behaviour.findings import Run


class Runs(Mapping[object, Run]):
    """The runs to marks, in the order in which they were put."""

    def __init__(self) -> None:
        self._laid_out: dict[object, Run] = {}
        self._ways: dict[object, Callable[[], Run]] = {}

    def put(self, mark: object, lay_out: Callable[[], Run]) -> None:
        """Say how a run to a mark is laid out, unless one is known."""
        self._ways.setdefault(mark, lay_out)

    def put_all(self, others: Mapping[object, Run], tell: Callable[[Run], Run]) -> None:
        """Put the runs of others, told so, to each mark to which none is known."""
        for mark in others:
            self.put(mark, lambda mark=mark: tell(others[mark]))  # type: ignore[misc]

    def __getitem__(self, mark: object) -> Run:
        if mark not in self._laid_out:
            self._laid_out[mark] = self._ways[mark]()
        return self._laid_out[mark]

    def __contains__(self, mark: object) -> bool:
        return mark in self._ways

    def __iter__(self) -> Iterator[object]:
        return iter(self._ways)

    def __len__(self) -> int:
        return len(self._ways)
