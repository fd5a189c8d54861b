"""Tyres."""

from __future__ import annotations

from kb.dimensions import Dimensions
from kb.sizes import Rim, Tyre


class TyreDimensions(Dimensions, kind="tyre"):
    """A tyre. Where its maker states the approved rims, they win over the standard's range."""

    caution = (
        "Tyres: fitting and inflation are for trained hands; stay within the marked bead-seating "
        "pressure and stand clear."
    )

    size: Tyre | None = None
    narrowest_rim: Rim | None = None
    widest_rim: Rim | None = None
    treadwear: int | None = None
