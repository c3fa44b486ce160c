"""In which order seams are welded, so that the heat is spread."""

import math
from collections.abc import Sequence

from calc.shell import Joint, Shell


def in_turn(joints: Sequence[Joint], shell: Shell) -> tuple[Joint, ...]:
    """Joints in an order that spreads the heat: each as far as can be from the last two (middles of the seams)."""
    left = list(joints)
    if not left:
        return ()
    points = shell.points
    middle = {joint.edge: (points[joint.edge[0]] + points[joint.edge[1]]) / 2 for joint in joints}
    order = [left.pop(max(range(len(left)), key=lambda i: left[i].length))]
    while left:
        recent = [middle[joint.edge] for joint in order[-2:]]
        weights = (0.5, 1.0)[-len(recent) :]
        room = [
            min(float(math.dist(middle[joint.edge], spot)) / w for spot, w in zip(recent, weights, strict=True))
            for joint in left
        ]
        order.append(left.pop(max(range(len(left)), key=room.__getitem__)))
    return tuple(order)
