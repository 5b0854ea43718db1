"""The order of upright tracks in a channel between two columns of a schematic: fewest crossings, nothing overlaid."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

Heights = tuple[list[float], list[float]]
"""Heights at which a net enters from the left, and from the right."""
OVERLAID = 1000


def ordered(nets: Mapping[str, Heights]) -> tuple[str, ...] | None:
    """Nets that need a track, from left to right; None where in every order found two wires would be overlaid."""
    mine = {n: h for n, h in nets.items() if len(h[0]) + len(h[1]) > 1 and len({*h[0], *h[1]}) > 1}
    straight = {n: h for n, h in nets.items() if n not in mine}
    best: list[str] = []
    for net in sorted(mine, key=lambda n: -max(mine[n][0] + mine[n][1])):
        # where a net does least harm among those that have their place
        tries = [[*best[:i], net, *best[i:]] for i in range(len(best) + 1)]
        best = min(tries, key=lambda order: cost(order, mine))
    moved = True
    while moved:
        moved = False
        for net in list(best):
            rest = [n for n in best if n != net]
            tries = [[*rest[:i], net, *rest[i:]] for i in range(len(rest) + 1)]
            found = min(tries, key=lambda order: cost(order, mine))
            if cost(found, mine) < cost(best, mine):
                best, moved = found, True
    return None if cost(best, mine) >= OVERLAID or _on_straight(mine, straight) else tuple(best)


def cost(order: Sequence[str], nets: Mapping[str, Heights]) -> int:
    """Crossings, and OVERLAID for each pair of level wires that would lie on one another."""
    total = 0
    for i, one in enumerate(order):
        for other in order[i + 1 :]:
            total += _pair(nets[one], nets[other])
    return total


def _pair(left: Heights, right: Heights) -> int:
    """Of two tracks, the first left of the second."""
    total = OVERLAID * len(set(left[1]) & set(right[0]))
    total += _across(left[1], right) + _across(right[0], left)
    return total


def _across(levels: list[float], track: Heights) -> int:
    every = [*track[0], *track[1]]
    return sum(min(every) < y < max(every) for y in levels)


def _on_straight(mine: Mapping[str, Heights], straight: Mapping[str, Heights]) -> bool:
    """Whether a wire that runs straight through meets another's end on its own height."""
    levels = {y for s in straight.values() if len(s[0]) + len(s[1]) > 1 for y in (*s[0], *s[1])}
    return any(levels & {*m[0], *m[1]} for m in mine.values())
