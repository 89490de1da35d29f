"""The least-length runs of a cable over its spans, with the bend at every tie.

Whether a cable can go on over a span depends on the span it came by. So the
nodes of the search are directed spans: an arc leads from one to the next if the
corner at the tie between them can be rounded. That makes the least length exact
among all ways that follow from the rules, also such as hold the cable twice at
one tie.
"""

from collections.abc import Callable, Iterator, Sequence

from routing.paths.search.arrays import Network
from routing.paths.search.k_shortest import k_shortest_paths
from routing.worksites.cables.spans import CableRules, Span, joint

__all__ = ["runs"]

_START, _GOAL, _FIRST = 0, 1, 2


def runs(
    rules: CableRules,
    spans: Sequence[Span],
    start: str,
    goal: str,
    allowed: Callable[[Span], bool] = lambda span: not span.against,
    *,
    bends: bool = True,
) -> Iterator[tuple[Span, ...]]:
    """Yield ways from connector to connector, the shortest first; equal ones in id order.

    No way uses a span twice in the same direction.

    Parameters
    ----------
    rules
        What the cable must keep to.
    spans
        All spans, both ways, in id order (`routing.worksites.cables.spans.spans_of`).
    start, goal
        Ids of the connectors; other connectors are not passed through.
    allowed
        Which spans may be used; by default those that nothing stands against.
    bends
        Whether the corners at ties must hold.
    """
    used = [span for span in spans if allowed(span) and _leads_on(span, start, goal)]
    by_tail: dict[str, list[int]] = {}
    for i, span in enumerate(used):
        by_tail.setdefault(span.tail, []).append(i)
    arcs: list[tuple[int, int, float]] = [
        (_START, _FIRST + i, used[i].length_m) for i in by_tail.get(start, [])
    ]
    for i, span in enumerate(used):
        if span.head == goal:
            arcs.append((_FIRST + i, _GOAL, 0.0))
            continue
        arcs += [
            (_FIRST + i, _FIRST + k, used[k].length_m)
            for k in by_tail.get(span.head, [])
            if not bends or rules.bends(joint(rules, span, used[k]).radius_m)
        ]
    network = Network.of_arcs(_FIRST + len(used), arcs)
    for path in k_shortest_paths(network, _START, _GOAL, engine="plain"):
        yield tuple(used[node - _FIRST] for node in path.nodes[1:-1])


def _leads_on(span: Span, start: str, goal: str) -> bool:
    """Tell whether a span is no way back into the start, out of the goal, or through a plug."""
    from_plug = not span.plug_first or span.tail == start
    into_plug = not span.plug_last or span.head == goal
    return from_plug and into_plug
