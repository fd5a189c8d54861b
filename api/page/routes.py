"""The routes of the counter page: the page itself, its print view, its order as CSV."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import partial
from hashlib import sha256
from pathlib import Path
from typing import Any

from flask import Blueprint, Response, render_template, request

from api import text as t
from api.answering import answered
from api.current import catalogue
from api.drawings.all import drawings_of
from api.limits import within_limits
from api.outcomes import is_final
from api.page.address import HOME, Address, read_address
from api.page.cars import cars_meant, questions
from api.page.changes import Changes
from api.page.kit import Kit
from api.page.order_csv import order_csv
from api.problems import KINDS, Refused, problem_response
from api.routes_questions import fields_as_in_address, question_of
from api.routes_search import Found, found
from api.text_choices import way_text
from api.text_package import differs, outcome_line, proof_line
from api.text_plan import stage_name
from api.working import worked_out
from kb.baseline import Baseline
from kb.catalogue import Catalogue
from kb.errors import KitwrightError, OutOfTime, QuestionError
from rules import answers as a
from rules.plan import plan_of
from rules.reasons import Reasons
from rules.situation import situation_of
from rules.ways_out import FLAGS, LISTS

HERE = Path(__file__).parent
YEAR = 365 * 24 * 60 * 60


class _Page(Blueprint):
    def get_send_file_max_age(self, filename: str | None) -> int:
        """Seconds a browser may keep a file: long, since its address changes when it does."""
        return YEAR


page = _Page(
    "page", __name__, template_folder="templates", static_folder="static", static_url_path="/page",
)

STAMP = sha256(b"".join(
    path.read_bytes() for path in sorted((HERE / "static").iterdir())
)).hexdigest()[:12]
"""Stands in the addresses of style sheet and script: it changes when one of them does."""

POLICY = "; ".join((
    "default-src 'none'", "script-src 'self'", "style-src 'self'", "img-src 'self'",
    "connect-src 'self'", "form-action 'self'", "base-uri 'none'", "frame-ancestors 'none'",
))
"""Content-Security-Policy: everything from here, nothing inline, nothing from elsewhere."""

DRAWING = "/v1/drawings/{}.svg"
VERDICTS = {
    "fits": "fits", "fits_with_work": "fits with work", "does_not_fit": "does not fit",
    "not_known": "not known",
}
PREFERENCES = {
    "least_cost": "least cost", "least_work": "least work", "least_mass": "least mass",
    "fewest_parts": "fewest parts",
}


@dataclass(frozen=True, slots=True)
class Asked:
    """What the address at hand asks, once it is known about which car."""

    known: Catalogue
    car: Baseline
    address: Address
    question: a.Question

    @property
    def changes(self) -> Changes:
        """The changes the page offers."""
        return Changes(self.address, self.question, situation_of(self.known, self.car))

    def answer(self) -> a.Package:
        """The package for the question."""
        with fields_as_in_address():
            return worked_out(partial(answered, self.known, self.question), {})


# -- routes ----------------------------------------------------------------------------------


@page.get(HOME)
def counter() -> Response:
    """The page: which car, what is wanted, the kit."""
    known, address = catalogue(), within_limits(read_address())
    cars = cars_meant(known, address)
    if len(cars) != 1:
        return _shown("which_car.html", known, address, cars=cars, **_which(cars, address))
    asked = _asked(known, address, cars[0])
    try:
        answer = asked.answer()
        look = _looked_up(asked)
    except QuestionError as error:
        return _shown("counter.html", known, asked.address, 422, **_about(asked), wrong=error,
                      mends=_mends(asked, error))
    return _shown(
        "counter.html", known, asked.address, **_about(asked), answer=answer,
        kit=Kit(answer, asked.changes), look=look,
    )


@page.get("/print")
def to_print() -> Response:
    """The kit list, the work in its order, what to measure and the cautions, on paper."""
    asked = _settled()
    answer = asked.answer()
    return _shown(
        "print.html", asked.known, asked.address, **_about(asked), answer=answer,
        kit=Kit(answer, asked.changes), plan=plan_of(asked.known, answer),
    )


@page.get("/drawings")
def to_look_at() -> Response:
    """The drawings of the kit, with the numbers written in them."""
    asked = _settled()
    answer = asked.answer()
    found = drawings_of(asked.known, asked.question, answer)
    return _shown(
        "drawings.html", asked.known, asked.address, **_about(asked), answer=answer,
        drawings=found, source=asked.address.as_api(DRAWING),
    )


@page.get("/order.csv")
def to_order() -> Response:
    """What to order, for the order desk."""
    asked = _settled()
    answer = asked.answer()
    if answer.outcome == "impossible":
        raise Refused("wrong_question", "this cannot all go on this car, so there is no order")
    response = Response(order_csv(answer), mimetype="text/csv")
    name = f"order-{asked.car.id.replace('/', '-')}.csv"
    response.headers["Content-Disposition"] = f'attachment; filename="{name}"'
    return response


# -- from address to question ----------------------------------------------------------------


def _settled() -> Asked:
    """What is asked, of an address that says which car. Raises QuestionError otherwise."""
    known, address = catalogue(), within_limits(read_address())
    cars = cars_meant(known, address)
    if len(cars) != 1:
        raise QuestionError("vehicle", "which car? The address leaves it open")
    return _asked(known, address, cars[0])


def _asked(known: Catalogue, address: Address, car: Baseline) -> Asked:
    settled = address.with_amounts(known.parts).model_copy(update={
        "vehicle": car.vehicle_id, "variant": car.variant_id, "year": car.year,
        "car": "", "has": (), "lacks": (), "digest": known.digest,
    })
    return Asked(known, car, settled, question_of(known, settled))


def _looked_up(asked: Asked) -> Found | None:
    """What was looked for; None when nothing was."""
    address = asked.address
    if not address.find.strip() and address.place is None:
        return None
    with fields_as_in_address():
        return worked_out(partial(found, asked.known, asked.question, address), {})


def _which(cars: list[Baseline], address: Address) -> dict[str, Any]:
    """What a page that asks for the car says beside the questions."""
    return {"questions": list(questions(cars, address)) if cars else []}


def _about(asked: Asked) -> dict[str, Any]:
    """What every page about one car says."""
    return {
        "car": asked.car, "question": asked.question, "changes": asked.changes,
        "picks": _picks(asked), "wishes": _wishes(asked), "verdicts": VERDICTS,
        "preferences": PREFERENCES, "places": _places(asked.car),
        "on_hand": {item.part: item for item in asked.question.on_hand},
    }


def _picks(asked: Asked) -> list[dict[str, Any]]:
    parts, at = asked.known.parts, asked.changes.at
    return [
        {"part": item.part, "name": parts[item.part].name, "maker": parts[item.part].maker or "",
         "unit": parts[item.part].pack.unit, "qty": item.qty or at.units(item.part) or 1,
         "gone": asked.changes.leaving_out(item.part)}
        for item in asked.question.picks if item.part in parts
    ]


def _places(car: Baseline) -> list[tuple[str, str]]:
    return [
        (key, (place.name or key).replace("-", " ")) for key, place in car.places.items()
    ]


def _wishes(asked: Asked) -> list[tuple[str, str]]:
    """Each wish in words, with the address without it."""
    say = Reasons(situation_of(asked.known, asked.car))
    given = [(field, value) for field in LISTS for value in getattr(asked.question, field)]
    given += [(flag, "") for flag in FLAGS if getattr(asked.question, flag)]
    known = {**dict.fromkeys(asked.known.parts), **dict.fromkeys(asked.known.work)}
    return [
        (say.wish(field, value).text, asked.changes.giving_up(field, value))
        for field, value in given if field not in ("avoid", "refuse_work") or value in known
    ]


def _mends(asked: Asked, error: QuestionError) -> list[tuple[str, str]]:
    """How a wrong question can be put right, each with the address that does."""
    where = re.fullmatch(r"(pick|on_hand)\.(\d+)", error.field)
    if not where:
        return []
    field, index = {"pick": "picks"}.get(where[1], where[1]), int(where[2])
    correcting = asked.changes.correcting
    found = [("Leave it out", correcting(field, index, None))]
    if error.nearest:
        found.insert(0, (f"Take {error.nearest}", correcting(field, index, error.nearest)))
    return found


# -- showing ---------------------------------------------------------------------------------


def _shown(
    template: str, known: Catalogue, address: Address, status: int = 200, **context: Any
) -> Response:
    text = render_template(
        template, catalogue=known, address=address, stamp=STAMP,
        changed_since=request.args.get("digest", known.digest) != known.digest, **context,
    )
    response = Response(text, status, mimetype="text/html")
    if status != 200 or ("answer" in context and not is_final(context["answer"])):
        response.headers["Cache-Control"] = "no-store"
        return response
    response.headers["Cache-Control"] = "no-cache"
    response.add_etag(weak=True)  # of the page, not of its bytes: see api.compression
    response.make_conditional(request)
    return response


def way_as_button(way: a.WayOut) -> str:
    """What a way out does, as a button says it."""
    return t.sentence(way_text(way)).removesuffix(".")


@page.errorhandler(Refused)
def _refused(error: Refused) -> Response:
    if error.code == "token_needed":
        return problem_response(error)  # which tells nothing of the catalogue
    response = _failed(error.detail, error.status or KINDS[error.code].status)
    response.headers.update(error.headers)
    return response


@page.errorhandler(KitwrightError)
def _no_answer(error: KitwrightError) -> Response:
    if isinstance(error, QuestionError):
        return _failed(str(error), 422)
    if isinstance(error, OutOfTime):
        return _failed("There was not enough time for an answer. Try again, or ask for less.", 503)
    return _failed("The answer failed its own check and is withheld.", 500)


def _failed(says: str, status: int) -> Response:
    return _shown("failed.html", catalogue(), Address(), status, says=t.clean(says))


@page.after_request
def _sealed(response: Response) -> Response:
    response.headers["Content-Security-Policy"] = POLICY
    response.headers["Referrer-Policy"] = "no-referrer"
    return response


page.add_app_template_filter(t.amount, "amount")
page.add_app_template_filter(t.number, "number")
page.add_app_template_filter(t.hours, "hours")
page.add_app_template_filter(t.sentence, "sentence")
page.add_app_template_filter(t.clean, "clean")
page.add_app_template_filter(t.words, "words")
page.add_app_template_filter(stage_name, "stage_name")
page.add_app_template_filter(way_as_button, "way_text")
page.add_app_template_global(t.count, "count")
page.add_app_template_global(t.stated, "stated")
page.add_app_template_global(differs, "differs")
page.add_app_template_global(outcome_line, "outcome_line")
page.add_app_template_global(proof_line, "proof_line")
