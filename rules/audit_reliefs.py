"""Reliefs stated of work steps that no check can count on."""

from __future__ import annotations

from collections.abc import Iterator
from typing import get_args

from kb.entries import Direction, Work
from kb.statements import Axle
from rules.audit_base import Finding, Scene


def idle_reliefs(scene: Scene) -> Iterator[Finding]:
    """Reliefs of what stands around no wheel, and those that do not say which way it moves."""
    for key, work in scene.catalogue.work.items():
        relieved = dict.fromkeys(relief.obstacle for relief in work.relieves)
        around = _around_wheels(scene, work) if relieved else set()
        for obstacle in relieved:
            if obstacle not in around:
                yield scene.finding(
                    "warning", "relieves-nothing", "work", key,
                    f"the work step '{key}' relieves '{obstacle}', which stands around no wheel of "
                    "any car it is possible on", "correct the id, state the obstacle under 'room' "
                    "of the car, or remove the relief",
                )
            elif any(r.obstacle == obstacle and r.direction is None for r in work.relieves):
                yield scene.finding(
                    "warning", "relief-without-direction", "work", key,
                    f"the work step '{key}' relieves '{obstacle}' without a direction, so no "
                    "answer counts on it",
                    f"state the direction: {', '.join(get_args(Direction))}",
                )


def _around_wheels(scene: Scene, work: Work) -> set[str]:
    """What stands around the wheels of the cars that a work step is possible on."""
    cars = (group[0] for group in scene.meant(work.on))
    rooms = (car.fact("room.obstacles", axle) for car in cars for axle in get_args(Axle))
    return {obstacle for room in rooms if room for obstacle in room.value}
