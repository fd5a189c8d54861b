"""Does the wheel go on the hub, and is it centred there?"""

from __future__ import annotations

from kb.matching import same
from kb.statements import Comparison, Need
from kb.units import Quantity, parse_amount
from rules.checking import Sheet, Verdict, check

ROUNDING = 0.05
"""Two bolt circles are one when they differ by less, mm: catalogues round 114.3 to 114."""


@check(
    "wheel-bolt-circle", ("wheel",), mounts=("wheel",),
    formula="same number of holes on the same circle diameter",
    source="common practice, no source: holes must line up with the studs",
)
def bolt_circle(sheet: Sheet) -> Verdict:
    """The wheel's bolt circle must be the hub's."""
    wheel, hub = sheet.dimension("wheel", "bolt_circle"), sheet.fact("hub.bolt_circle")
    if sheet.missing:
        return sheet.not_known()
    if wheel.holes != hub.holes:
        return sheet.judge(False, f"the wheel has {wheel.holes} holes, the hub {hub.holes} studs")
    apart = abs(wheel.diameter - hub.diameter)
    fits = apart <= ROUNDING
    says = f"bolt circle {wheel} on hub {hub}" if fits else (
        f"the wheel's bolt circle is {wheel}, the hub's is {hub}"
    )
    return sheet.judge(fits, says, margin=ROUNDING - apart, required=0.0, unit="mm")


@check(
    "wheel-centre-bore", ("wheel",),
    formula="bore - spigot: below 0 does not go on; up to the shop's play fits; more asks for a "
            "centring ring",
    source="common practice, no source: a wheel is centred on the spigot, with a ring where larger",
)
def centre_bore(sheet: Sheet) -> Verdict:
    """A smaller bore does not go on; a larger one asks for a ring of just that size."""
    bore, spigot = sheet.dimension("wheel", "centre_bore"), sheet.fact("hub.spigot")
    if sheet.missing:
        return sheet.not_known()
    play, most = bore.value - spigot.value, sheet.limit("bore_play").value
    worst = bore.low - spigot.high
    details = {"margin": play, "required": 0.0, "worst_case": worst, "unit": "mm"}
    if play < 0 and not same(bore, spigot):
        return sheet.judge(
            False, f"the bore of {bore} does not go over the hub's {spigot}", **details
        )
    if play <= most or same(play, most):
        return sheet.judge(True, f"the bore of {bore} centres on the hub's {spigot}", **details)
    ring = _ring(bore, spigot)
    says = f"the bore of {bore} is larger than the hub's {spigot}: it takes a centring ring"
    return sheet.judge(True, says, needs=(ring,), **details)


def _ring(bore: Quantity, spigot: Quantity) -> Need:
    """The need of a ring that fills the gap between bore and spigot."""
    size = {
        "outer_diameter": Comparison(equals=f"{bore.value:.6g} mm"),
        "inner_diameter": Comparison(equals=f"{spigot.value:.6g} mm"),
    }
    why = f"it centres the {bore.value:g} mm bore on the {spigot.value:g} mm hub"
    return Need(
        kind="centring-ring", match=size, each=parse_amount("1"), why=why, basis="computed"
    )
