"""Connected groups: what hangs together by pairs."""

from __future__ import annotations

from collections.abc import Iterable


def connected(keys: Iterable[str], pairs: Iterable[tuple[str, str]]) -> list[list[str]]:
    """Return the keys in groups that hang together through pairs, in the order in which the keys are given.

    Pairs that name anything else are left aside.

    >>> connected(["post", "clamp", "gears", "cleats"], [("clamp", "post"), ("post", "elsewhere")])
    [['post', 'clamp'], ['gears'], ['cleats']]
    """
    group_of = {key: [key] for key in keys}
    for one, other in pairs:
        if one in group_of and other in group_of and group_of[one] is not group_of[other]:
            group_of[one].extend(group_of[other])
            for key in group_of[other]:
                group_of[key] = group_of[one]
    places = {key: place for place, key in enumerate(group_of)}
    groups = {id(group): group for group in group_of.values()}
    return [sorted(group, key=places.__getitem__) for group in groups.values()]
