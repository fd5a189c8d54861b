"""Does the tyre suit the rim?"""

from __future__ import annotations

from kb.sizes import RimSize
from rules.checking import Sheet, Verdict, check
from rules.engineering.tyres import approved_rims


@check(
    "tyre-rim-diameter", ("tyre", "wheel"), mounts=("tyre",),
    formula="rim diameter code of the tyre = diameter code of the rim",
    source="ISO 4000-1 and -2: a tyre is mounted only on a rim of its own diameter code",
)
def rim_diameter(sheet: Sheet) -> Verdict:
    """Tyre and rim must share the diameter code."""
    size, rim = sheet.dimension("tyre", "size"), sheet.dimension("wheel", "rim")
    if sheet.missing:
        return sheet.not_known()
    if size.rim_code == rim.diameter_code:
        return sheet.judge(True, f"a {size.rim_code:g} inch tyre on a {size.rim_code:g} inch rim")
    return sheet.judge(
        False, f"a {size.rim_code:g} inch tyre does not go on a {rim.diameter_code:g} inch rim"
    )


@check(
    "tyre-rim-width", ("tyre", "wheel"),
    formula="narrowest approved rim <= rim width <= widest approved rim",
    source="the tyre maker's range where stated, else the width ratios of ISO 4000-1 (from memory)",
)
def rim_width(sheet: Sheet) -> Verdict:
    """The rim width must lie in the tyre's approved range."""
    size, rim = sheet.dimension("tyre", "size"), sheet.dimension("wheel", "rim")
    narrow = sheet.dimension("tyre", "narrowest_rim", optional=True)
    wide = sheet.dimension("tyre", "widest_rim", optional=True)
    if sheet.missing:
        return sheet.not_known()
    try:
        low, high, basis = _range(size.width, size.aspect, narrow, wide)
    except ValueError:
        sheet.missing.append(f"approved rim widths of {sheet.name('tyre')}")
        return sheet.not_known()
    margin = min(rim.width_code - low, high - rim.width_code)
    inside = "within" if margin >= 0 else "outside"
    says = f"a {rim.width_code:g} inch rim is {inside} the tyre's range of {low:g} to {high:g} inch"
    return sheet.judge(
        margin >= 0, says, margin=margin, required=0.0, unit="in", worst_case=margin, basis=basis
    )


def _range(
    width: int, aspect: int, narrow: RimSize | None, wide: RimSize | None
) -> tuple[float, float, str]:
    """Narrowest and widest approved rim width code, and how the range is known.

    Raises ValueError where neither the maker nor the standard gives a range.
    """
    if narrow and wide:
        return narrow.width_code, wide.width_code, "maker"
    low, high = approved_rims(width, aspect)
    return (
        narrow.width_code if narrow else low, wide.width_code if wide else high, "computed"
    )
