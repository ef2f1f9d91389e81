"""What holds of any graph; it knows nothing of props."""

from collections.abc import Iterator
from typing import TypeVar

Item = TypeVar("Item")


def strongly_connected(edges: dict[Item, list[Item]]) -> Iterator[set[Item]]:
    """Give the sets of items that lead to each other (Tarjan 1972), without recursion."""
    index: dict[Item, int] = {}
    low: dict[Item, int] = {}
    on_stack: set[Item] = set()
    stack: list[Item] = []
    for root, first in edges.items():
        if root in index:
            continue
        work = [(root, iter(first))]
        index[root] = low[root] = len(index)
        stack.append(root)
        on_stack.add(root)
        while work:
            at, onward = work[-1]
            for to in onward:
                if to not in edges:
                    continue
                if to not in index:
                    index[to] = low[to] = len(index)
                    stack.append(to)
                    on_stack.add(to)
                    work.append((to, iter(edges[to])))
                    break
                if to in on_stack:
                    low[at] = min(low[at], index[to])
            else:
                work.pop()
                if work:
                    low[work[-1][0]] = min(low[work[-1][0]], low[at])
                if low[at] == index[at]:
                    yield _popped(stack, on_stack, at)


def _popped(stack: list[Item], on_stack: set[Item], until: Item) -> set[Item]:
    group: set[Item] = set()
    while until not in group:
        last = stack.pop()
        on_stack.discard(last)
        group.add(last)
    return group
