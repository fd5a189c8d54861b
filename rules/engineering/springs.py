"""Coil springs alone and stacked: rate, block length, helper and main in series.

Units: mm, N, N/mm, N/mm² for moduli. Springs are linear from free length to block.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

from rules.engineering.ranges import above_zero, between, not_negative, ordered

SPRING_STEEL_SHEAR = 79300.0
"""Shear modulus of spring steel, N/mm²; 78,500 to 81,500 in use (from memory)."""

_ROUNDING = 1e-9
"""Relative room for floating-point rounding at the ends of a spring's travel."""


@dataclass(frozen=True)
class Spring:
    """A spring by free length mm, rate N/mm and block length mm (coils touching).

    Raises ValueError for a value of zero or less, or a block length not below the free length.
    """

    free_length: float
    rate: float
    block_length: float

    def __post_init__(self) -> None:
        above_zero(free_length=self.free_length, rate=self.rate, block_length=self.block_length)
        ordered("block length", self.block_length, "free length", self.free_length)

    @property
    def travel(self) -> float:
        """Travel in mm from free length to block."""
        return self.free_length - self.block_length

    @property
    def block_load(self) -> float:
        """Load in N that closes the spring to block."""
        return self.rate * self.travel


@dataclass(frozen=True)
class SpringStack:
    """A main spring, and perhaps a helper or tender in series with it.

    `coupler` is the thickness in mm of the ring between the two. Raises ValueError when it is
    negative, or given without a helper.
    """

    main: Spring
    helper: Spring | None = None
    coupler: float = 0.0

    def __post_init__(self) -> None:
        not_negative(coupler=self.coupler)
        if self.helper is None and self.coupler > 0.0:
            raise ValueError("A coupler is given, but there is no second spring to couple.")

    @property
    def springs(self) -> tuple[Spring, ...]:
        """The springs, the one that closes first in front."""
        pair = (self.main,) if self.helper is None else (self.helper, self.main)
        return tuple(sorted(pair, key=lambda spring: spring.block_load))

    @property
    def free_length(self) -> float:
        """Length in mm without load."""
        return sum(spring.free_length for spring in self.springs) + self.coupler

    @property
    def block_length(self) -> float:
        """Length in mm with every coil closed."""
        return sum(spring.block_length for spring in self.springs) + self.coupler

    @property
    def travel(self) -> float:
        """Travel in mm from free length to block."""
        return self.free_length - self.block_length


class StackRates(NamedTuple):
    """Rates in N/mm before and after the first spring closes, and load (N) and travel (mm) there.

    For a single spring both rates are its own, and load and travel are zero.
    """

    before: float
    after: float
    closing_load: float
    closing_travel: float


def coil_rate(
    wire: float,
    mean_diameter: float,
    active_coils: float,
    shear_modulus: float = SPRING_STEEL_SHEAR,
) -> float:
    """Rate in N/mm of a round-wire compression spring.

    `wire` and `mean_diameter` mm (diameter over wire from 3 to 20), `active_coils` at least
    2, `shear_modulus` N/mm². Valid for constant coil diameter and pitch.

    Source: k = G·d⁴/(8·D³·n), EN 13906-1; Bhavikatti, Strength of Materials, Ex. 6.6.22 p. 254
    (verified textbook).
    """
    above_zero(wire=wire, mean_diameter=mean_diameter, shear_modulus=shear_modulus)
    between(3.0, 20.0, coil_diameter_over_wire=mean_diameter / wire)
    between(2.0, 100.0, active_coils=active_coils)
    return shear_modulus * wire**4 / (8.0 * mean_diameter**3 * active_coils)


def block_length(wire: float, total_coils: float, ground: bool = True) -> float:
    """Length in mm with all coils touching; `wire` mm, `total_coils` at least 2.

    Source: EN 13906-1, nt·d with ground ends, (nt + 1.5)·d without; the ground form agrees with a
    published sample calculation (verified secondary), the other is from memory.
    """
    above_zero(wire=wire)
    between(2.0, 100.0, total_coils=total_coils)
    return (total_coils if ground else total_coils + 1.5) * wire


def least_gap_sum(
    wire: float, mean_diameter: float, active_coils: float, dynamic: bool = True
) -> float:
    """Length in mm that should stay between the coils at the shortest working length.

    Source: EN 13906-1, Sa = n·(0.0015·D²/d + 0.1·d), 1.5 times that under dynamic load; agrees
    with a published sample calculation (verified secondary).
    """
    above_zero(wire=wire, mean_diameter=mean_diameter, active_coils=active_coils)
    at_rest = active_coils * (0.0015 * mean_diameter**2 / wire + 0.1 * wire)
    return 1.5 * at_rest if dynamic else at_rest


def series_rate(*rates: float) -> float:
    """Rate in N/mm of springs that carry the same load one after the other; below each part.

    Source: 1/k = sum(1/k_i), compliances add (computed).
    """
    if not rates:
        raise ValueError("A series of springs needs at least one rate, but none is given.")
    for rate in rates:
        above_zero(rate=rate)
    return 1.0 / sum(1.0 / rate for rate in rates)


def stack_rates(stack: SpringStack) -> StackRates:
    """Rates of a stack before and after its first spring closes, and where that happens.

    Source: springs in series until the block load of the weaker one (computed).
    """
    first, *others = stack.springs
    if not others:
        return StackRates(first.rate, first.rate, 0.0, 0.0)
    last = others[0]
    before = series_rate(first.rate, last.rate)
    return StackRates(before, last.rate, first.block_load, first.block_load / before)


def stack_load(stack: SpringStack, deflection: float) -> float:
    """Load in N at a deflection in mm from free length (0 to the stack's travel).

    Source: two straight lines that meet where the first spring closes (computed).
    """
    between(0.0, stack.travel * (1.0 + _ROUNDING), deflection=deflection)
    rates = stack_rates(stack)
    if deflection <= rates.closing_travel:
        return rates.before * deflection
    return rates.closing_load + rates.after * (deflection - rates.closing_travel)


def spring_lengths(stack: SpringStack, deflection: float) -> tuple[float, ...]:
    """Length in mm of each spring of `stack.springs`, at a deflection in mm of the stack.

    Source: each spring gives way by load over rate, as far as its block (computed).
    """
    load = stack_load(stack, deflection)
    return tuple(
        spring.free_length - min(load / spring.rate, spring.travel) for spring in stack.springs
    )


def stack_deflection(stack: SpringStack, load: float) -> float:
    """Deflection in mm from free length under a load in N; ValueError if it closes every coil.

    Source: inverse of `stack_load` (computed).
    """
    not_negative(load=load)
    strongest = stack.springs[-1].block_load
    if load > strongest * (1.0 + _ROUNDING):
        raise ValueError(
            f"A load of {load:g} N closes every coil: the stack carries {strongest:g} N at block."
        )
    rates = stack_rates(stack)
    if load <= rates.closing_load:
        return load / rates.before
    return rates.closing_travel + (load - rates.closing_load) / rates.after
