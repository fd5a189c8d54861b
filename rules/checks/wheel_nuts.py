"""Do the nuts suit the wheel and the studs?"""

from __future__ import annotations

from kb.matching import same
from rules.checking import Sheet, Verdict, check
from rules.engineering.hubs import Seat, seat_centres, seats_match


def seat(name: str) -> Seat:
    """The seat meant by the catalogue's word, such as "cone-60" or "ball-R13"."""
    family, _, size = name.partition("-")
    return Seat("conical" if family == "cone" else family, float(size.removeprefix("R") or 0))


@check(
    "nut-seat", ("wheel-nut", "wheel"), mounts=("wheel-nut",),
    formula="seat of the nut = seat in the wheel",
    source="trade-magazine article 'Wheel fasteners' (2015): seat forms must never be mixed",
)
def nut_seat(sheet: Sheet) -> Verdict:
    """Cone, ball and flat seats are never mixed."""
    nut, wheel = sheet.dimension("wheel-nut", "seat"), sheet.dimension("wheel", "nut_seat")
    if sheet.missing:
        return sheet.not_known()
    if seats_match(seat(nut), seat(wheel)):
        says = f"nut and wheel both have a {nut} seat"
        centres = seat_centres(seat(wheel))
        return sheet.judge(True, says if centres else f"{says}; only the bore centres the wheel")
    return sheet.judge(False, f"the nut has a {nut} seat, the wheel a {wheel} seat")


@check(
    "nut-on-hub-stud", ("wheel-nut",), unless="wheel-stud",
    formula="thread of the nut = thread of the hub's studs",
    source="ISO 965-1: mating threads have the same nominal diameter and pitch",
)
def nut_on_hub_stud(sheet: Sheet) -> Verdict:
    """The nut's thread must be that of the hub's own studs."""
    return _threads(sheet, sheet.fact("hub.stud_thread"), "the hub's studs")


@check(
    "nut-on-stud", ("wheel-nut", "wheel-stud"),
    formula="thread of the nut = thread of the stud",
    source="ISO 965-1: mating threads have the same nominal diameter and pitch",
)
def nut_on_stud(sheet: Sheet) -> Verdict:
    """The nut's thread must be that of studs fitted in place of the hub's own."""
    return _threads(sheet, sheet.dimension("wheel-stud", "thread"), sheet.name("wheel-stud"))


def _threads(sheet: Sheet, stud: object, whose: str) -> Verdict:
    nut = sheet.dimension("wheel-nut", "thread")
    if sheet.missing:
        return sheet.not_known()
    if same(nut, stud):
        return sheet.judge(True, f"nut and stud are both {nut}")
    return sheet.judge(False, f"the nut is {nut}, but {whose} are {stud}")
