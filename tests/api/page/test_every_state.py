"""What holds in every state of the page: accessible, of its own host, no wider than the screen."""

from __future__ import annotations

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect

from kb.catalogue import Catalogue, load_texts

CAR = "vehicle=quernby&year=2017&variant=q16"
STATES = {
    "which car": "/",
    "no such car": "/?car=zeppelin",
    "which version": "/?vehicle=quernby",
    "nothing asked for": f"/?{CAR}",
    "hits of every verdict": f"/?{CAR}&pick=caliper-tor&find=wheel",
    "a kit": f"/?{CAR}&pick=caliper-cairn&pick=wheel-corrie-16&on_hand=tyre-hover-16:4",
    "measure first": "/?vehicle=haulwick&year=2013&variant=h12&pick=caliper-cairn",
    "wishes": f"/?{CAR}&pick=wheel-corrie-16&avoid=tyre-hover-16&prefer=least_work&budget=9000",
    "a clash": f"/?{CAR}&pick=caliper-tor&pick=wheel-corrie-15&digest=0",
    "a wrong question": f"/?{CAR}&pick=caliper-carn",
    "an address that cannot be read": "/?vehicle=quernby&year=soon",
    "drawings": f"/drawings?{CAR}&pick=caliper-cairn&pick=wheel-corrie-16",
    "on paper": f"/print?{CAR}&pick=caliper-cairn&pick=wheel-corrie-16",
    "a clash on paper": f"/print?{CAR}&pick=caliper-tor&pick=wheel-corrie-15",
}


@pytest.mark.parametrize("state", STATES)
def test_axe_finds_nothing_to_mend(visit, state):
    page = visit(STATES[state], may_fail=state.startswith(("a wrong", "an address")))
    page.evaluate("document.querySelectorAll('details').forEach(d => { d.open = true; })")
    found = Axe().run(page)
    assert found.violations_count == 0, found.generate_report()


@pytest.mark.parametrize("size", [(1280, 900), (640, 450), (360, 740)])
def test_no_state_is_wider_than_the_screen(visit, size):
    """640 x 450 is 1280 x 900 at 200 %; 360 is a phone in the garage."""
    for state, path in STATES.items():
        page = visit(path, size=size, may_fail=True)
        page.evaluate("document.querySelectorAll('details').forEach(d => { d.open = true; })")
        assert page.evaluate("document.documentElement.scrollWidth") <= size[0], state
        page.context.close()


HOSTILE = "<script>document.title = 'taken over'</script><img src=x onerror=\\\"alert(1)\\\">"
MIRRORED = "\u202egnihton\u202c \u200fwheel"
LONG = "W" * 300


@pytest.fixture(scope="module")
def hostile() -> Catalogue:
    return load_texts({"a.yaml": f"""
catalog: {{name: "{HOSTILE}"}}
vehicles:
  car:
    name: "{HOSTILE}"
    years: 2015
    variants: {{one: {{name: "{MIRRORED}", engine: e}}}}
    places: {{front-wheel: {{count: 2}}, rear-wheel: {{count: 2}}, lamp: {{}}}}
parts:
  tag: {{kind: item, name: "{HOSTILE}", maker: "{HOSTILE}", takes: [lamp], price: 5.00 EUR,
        fits: [{{vehicles: [car]}}], cautions: ["{HOSTILE}"],
        requires: [{{part: mirror, each: 1, why: "{HOSTILE}"}}, {{part: long, each: 2}}]}}
  mirror: {{kind: item, name: "{MIRRORED}", price: 1.00 EUR}}
  long: {{kind: item, name: "{LONG}", price: 2.00 EUR}}
  odd:1&pick=x: {{kind: item, name: "=1+1", price: 3.00 EUR}}
""".replace("odd:1&pick=x", "odd:1")})


@pytest.mark.parametrize("path", ["/?vehicle=car&pick=tag&find=w", "/print?vehicle=car&pick=tag"])
def test_hostile_names_are_shown_and_do_nothing(visit, hostile, path):
    page = visit(path, catalogue=hostile, size=(360, 740))
    expect(page.locator("table.order bdi.name").first).to_contain_text("<script>document.title")
    assert page.title() != "taken over"
    assert page.locator("main script, main img[src=x]").count() == 0
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    name = page.locator("tr", has_text="mirror").locator("bdi.name")
    assert not {"\u202e", "\u200f"} & set(name.inner_text())


def test_a_script_in_the_address_is_shown_as_text(visit):
    page = visit(f"/?{CAR}&find=%3Cscript%3Ealert(1)%3C/script%3E")
    expect(page.locator("#find")).to_have_value("<script>alert(1)</script>")
    expect(page.locator("#hits")).to_contain_text("0 parts found")


def test_nothing_moves_and_the_focus_is_seen(visit):
    page = visit(f"/?{CAR}&find=corrie")
    page.emulate_media(reduced_motion="reduce")
    page.keyboard.press("Tab")
    width = page.evaluate("getComputedStyle(document.activeElement).outlineWidth")
    assert width == "3px"
