"""The counter page as a parts person uses it, in a real browser."""

from __future__ import annotations

import re
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import Page, expect

CAR = "/?vehicle=quernby&year=2017&variant=q16"


def total(page: Page) -> float:
    return float(page.locator("#total").inner_text())


def part_ids(page: Page) -> list[str]:
    return page.locator("table.order td code").all_inner_texts()


def test_from_the_phone_call_to_the_printed_kit_list(visit, settled):
    page = visit()
    settled(page, lambda: page.get_by_label("Type a few letters").fill("quernby 2017"))
    settled(page, lambda: page.get_by_role("link", name="1.6 petrol", exact=True).click())
    expect(page.get_by_role("heading", level=1)).to_have_text("Quernby estate 1.6 petrol, 2017")
    expect(page.get_by_label("Name, number, maker or size")).to_be_focused()

    settled(page, lambda: page.keyboard.type("cairn"))
    hit = page.locator(".hit", has=page.locator("code", has_text=re.compile("^caliper-cairn$")))
    expect(hit.locator(".tag")).to_have_text("fits with work")
    settled(page, lambda: hit.get_by_role("link", name="Pick").click())
    assert "kit-front-cairn-late" in part_ids(page)
    before = total(page)

    settled(page, lambda: page.get_by_label("Name, number, maker or size").fill("corrie 16"))
    settled(page, lambda: page.get_by_role("link", name="Pick Corrie 16 gravel wheel").click())
    assert total(page) > before
    expect(page.locator("#told")).to_contain_text("complete")

    page.locator("#to-print").click()
    expect(page.get_by_role("heading", name="Kit list")).to_be_visible()
    expect(page.get_by_role("heading", name="Work, in its order")).to_be_visible()
    expect(page.get_by_role("heading", name="Cautions")).to_be_visible()
    assert {"caliper-cairn", "wheel-corrie-16", "tyre-hover-16"} <= set(part_ids(page))
    page.emulate_media(media="print")
    expect(page.get_by_role("link", name="Back to the counter")).to_be_hidden()


def test_only_what_tells_the_cars_apart_is_asked(visit, settled):
    page = visit("/?vehicle=quernby&variant=q16")
    assert page.locator("h2").all_inner_texts() == [
        "Which year?", "With pressure sensors?", "With air con?", "With wire throttle?",
    ]  # an immobiliser and a lead for pad wear come with the sensors, so they tell nothing more
    settled(page, lambda: page.locator("#with-pressure-sensors-2").click())
    assert page.locator("#year-1").inner_text() == "2013"
    assert page.locator("h2").all_inner_texts() == ["Which year?", "With wire throttle?"]
    settled(page, lambda: page.locator("#with-wire-throttle-2").click())
    expect(page.get_by_role("heading", level=1)).to_have_text("Quernby estate 1.6 petrol, 2013")


def test_each_hit_says_whether_it_goes_and_why_not(visit):
    page = visit(f"{CAR}&pick=caliper-tor&find=corrie")
    fitting, refused = page.locator(".hit").all()
    expect(fitting.locator(".tag")).to_have_text("fits with work")
    expect(fitting).to_contain_text("Move the front hose bracket")
    expect(refused.locator(".tag")).to_have_text("does not fit")
    expect(refused).to_contain_text("a 15 inch wheel does not go over a 308 mm disc")
    way_out = refused.get_by_role("link", name=re.compile("^Pick it and leave out Tor"))
    expect(way_out).to_be_visible()


def test_parts_are_found_by_what_people_call_them(visit, settled):
    page = visit(CAR)

    def ids(text: str) -> list[str]:
        settled(page, lambda: page.locator("#find").fill(text))
        return page.locator(".hits code").all_inner_texts()

    assert ids("tyres")[0].startswith("tyre-")  # not the valve that has a tyre in its name
    assert "tyre-hover-16" in ids("205/45")
    assert ids("kerblyne tarmac")[0].startswith("tyre-")
    expect(page.locator("#hits-title")).to_have_text(
        "Nothing of that name. For kerbline tarmac: 3 parts found")
    settled(page, lambda: page.locator("#find").fill(""))
    settled(page, lambda: page.locator("#place").select_option("front-disc"))
    assert {"disc-284-slot", "kit-front-cairn-late"} & set(
        page.locator(".hits code").all_inner_texts())


def test_the_nearest_way_out_of_a_refusal_leads_to_a_kit(visit, settled):
    page = visit(f"{CAR}&pick=caliper-tor&find=corrie+15")
    way_out = page.get_by_role("link", name=re.compile("^Pick it and leave out"))
    settled(page, way_out.click)
    assert page.locator(".picks code").all_inner_texts() == ["wheel-corrie-15"]
    expect(page.locator(".outcome")).to_contain_text("Yes")


def test_an_impossible_pick_and_a_way_out(visit, settled):
    page = visit(f"{CAR}&pick=caliper-tor&find=corrie+15")
    settled(page, lambda: page.get_by_role("link", name="Pick all the same").click())
    expect(page.locator(".outcome")).to_have_text("No: this cannot all go on this car.")
    expect(page.locator(".clash").first).to_contain_text("a 15 inch wheel does not go over")
    expect(page.locator("#told")).to_contain_text("This cannot all go on this car")
    expect(page.locator(".hits .tag").first).to_be_visible()  # judged on the car alone

    way = page.locator(".ways li").filter(has_text="Take Cairn")
    promised = re.search(r"comes to ([\d.]+)", way.inner_text())[1]
    settled(page, lambda: way.get_by_role("link").click())
    assert page.locator("#total").inner_text() == promised
    assert sorted(page.locator(".picks code").all_inner_texts()) == [
        "caliper-cairn", "wheel-corrie-15"]


def test_another_choice_costs_what_it_said(visit, settled):
    page = visit(f"{CAR}&pick=caliper-cairn&pick=wheel-corrie-16")
    before = total(page)
    page.locator("#instead-tyre-hover-16 > summary").click()
    swap = page.locator("#swap-tyre-hover-16-tyre-kerbline-16")
    difference = float(swap.locator(".difference").inner_text())
    assert difference > 0
    settled(page, swap.click)
    assert total(page) == pytest.approx(before + difference)
    assert "tyre-hover-16" not in part_ids(page)
    settled(page, page.locator("#drop-tyre-kerbline-16").click)
    assert total(page) == before


def test_what_the_customer_has_comes_off_the_order(visit, settled):
    page = visit(f"{CAR}&pick=wheel-corrie-16")
    before, row = total(page), page.locator("#have-tyre-hover-16")
    settled(page, row.check)
    assert total(page) == pytest.approx(before - 352.00)
    expect(page.locator("tbody", has_text="Already there")).to_contain_text("tyre-hover-16")
    expect(page.locator("#have-tyre-hover-16")).to_be_checked()
    expect(page.locator("#have-tyre-hover-16")).to_be_focused()
    settled(page, page.locator("#have-tyre-hover-16").uncheck)
    assert total(page) == before


def test_of_four_tyres_the_customer_has_two(visit, settled):
    page = visit(f"{CAR}&pick=wheel-corrie-16&on_hand=tyre-hover-16:4")
    with_all = total(page)

    def has(text: str) -> None:
        page.get_by_label("How many of Hoverell road tyre 16 the customer has").fill(text)
        page.keyboard.press("Enter")

    settled(page, lambda: has("2"))
    assert total(page) == pytest.approx(with_all + 2 * 88.00)
    row = page.locator("tr", has=page.locator("#have-tyre-hover-16"))
    expect(row.locator(".qty")).to_contain_text("2 on hand")
    settled(page, lambda: has(""))
    expect(page.locator("#have-tyre-hover-16")).not_to_be_checked()


def test_every_line_opens_its_chain_and_stays_open(visit, settled):
    page = visit(f"{CAR}&pick=caliper-cairn")
    for details in page.locator("table.order details[id^=why]").all():
        assert details.locator(".chain li").count() >= 1
    page.locator("#why-washer-copper-10 > summary").click()
    chain = page.locator("#why-washer-copper-10 .chain")
    expect(chain.locator("li").first).to_have_text(re.compile("You asked for Cairn"))
    settled(page, page.locator("#have-washer-copper-10").check)
    expect(chain).to_be_visible()


def test_an_amount_is_set_and_taken_back(visit, settled):
    page = visit(f"{CAR}&pick=wheel-corrie-16")
    amount = page.get_by_label("How many: Corrie 16 gravel wheel")
    expect(amount).to_have_value("4")
    before = total(page)

    def set_to(text: str) -> None:
        page.get_by_label("How many: Corrie 16 gravel wheel").fill(text)
        page.keyboard.press("Enter")

    settled(page, lambda: set_to("5"))
    expect(page.locator("tr", has=page.locator("#why-wheel-corrie-16"))).to_contain_text("860.00")
    settled(page, lambda: set_to(""))
    assert total(page) == before


def test_wishes_are_kept_and_given_up(visit, settled):
    page = visit(f"{CAR}&pick=wheel-corrie-16")
    page.locator("#why-tyre-hover-16 > summary").click()
    settled(page, page.locator("#avoid-tyre-hover-16").click)
    assert "tyre-hover-16" not in part_ids(page)
    settled(page, page.locator("#wish-1").click)
    assert "tyre-hover-16" in part_ids(page)
    page.locator("#how > summary").click()
    settled(page, lambda: page.locator("#budget").fill("100") or page.keyboard.press("Enter"))
    expect(page.locator(".ways")).to_contain_text("Raise the budget to")
    settled(page, page.locator("#way-1").click)


def test_the_address_brings_the_same_page_back(visit, settled):
    page = visit(CAR)
    settled(page, lambda: page.locator("#find").fill("hoverell"))
    settled(page, lambda: page.locator("#pick-tyre-hover-16").click())
    settled(page, lambda: page.locator("#have-tyre-hover-16").check())

    def seen(page: Page) -> list[str]:
        return [page.locator(f"#{part}").inner_text() for part in ("car", "wanted", "hits", "kit")]

    before = seen(page)
    page.reload()
    assert seen(page) == before
    path = urlsplit(page.url)
    assert seen(visit(f"{path.path}?{path.query}")) == before


def test_drawings_come_after_the_kit_with_their_numbers_as_text(visit):
    page = visit(f"{CAR}&pick=caliper-cairn&pick=wheel-corrie-16")
    drawing = page.locator("#drawing-caliper-front")
    expect(drawing.get_by_role("img")).to_have_attribute("alt", re.compile("19.5 mm"))
    drawing.scroll_into_view_if_needed()
    drawn = "img => img.decode().then(() => img.naturalWidth)"
    assert drawing.get_by_role("img").evaluate(drawn) > 100
    drawing.locator("summary").click()
    expect(drawing.locator("tr", has_text="radial gap").first).to_contain_text("19.5 mm")


def test_without_script_drawings_have_a_page_of_their_own(visit):
    page = visit(f"{CAR}&pick=caliper-cairn&find=corrie", script=False)
    page.locator("#look-at").click()
    expect(page.locator("#drawing-caliper-front")).to_be_visible()
    page.locator("#back").click()
    expect(page.locator(".picks code")).to_have_text(["caliper-cairn"])


def test_back_and_forward_go_through_the_picks(visit, settled):
    page = visit(f"{CAR}&find=corrie")
    settled(page, page.locator("#pick-wheel-corrie-16").click)
    settled(page, page.go_back)
    expect(page.locator("#wanted")).to_contain_text("Nothing yet")
    settled(page, page.go_forward)
    expect(page.locator(".picks code")).to_have_text(["wheel-corrie-16"])


def test_with_the_keyboard_alone(visit, settled):
    """From the car to print: letters, arrows, Tab and Enter."""
    page = visit()
    press = page.keyboard.press

    def tab_to(what: str) -> None:
        for _ in range(150):
            if page.evaluate("document.activeElement.matches(arguments[0])".replace(
                    "arguments[0]", repr(what))):
                return
            press("Tab")
        raise AssertionError(f"Tab never gets to {what}")

    settled(page, lambda: page.keyboard.type("quernby 2017 q16"))
    tab_to("#variant-1")
    settled(page, lambda: press("Enter"))
    expect(page.locator("#find")).to_be_focused()
    settled(page, lambda: page.keyboard.type("corrie 16"))
    press("ArrowDown")
    expect(page.locator("#pick-wheel-corrie-16")).to_be_focused()
    settled(page, lambda: press("Enter"))
    expect(page.locator("#pick-wheel-corrie-16")).to_be_focused()  # now it leaves the pick out
    press("ArrowUp")
    expect(page.locator("#find")).to_be_focused()
    tab_to("#to-print")
    with page.expect_navigation():
        press("Enter")
    expect(page.get_by_role("heading", name="Kit list")).to_be_visible()


def test_without_script_everything_is_a_link_or_a_button(visit):
    page = visit(script=False)
    page.get_by_label("Type a few letters").fill("quernby 2017 1.6")
    page.get_by_role("button", name="Look").click()
    page.get_by_role("link", name="1.6 petrol", exact=True).click()
    page.get_by_label("Name, number, maker or size").fill("corrie 16")
    page.get_by_role("button", name="Search").click()
    page.get_by_role("link", name="Pick Corrie 16 gravel wheel").click()
    before = total(page)
    page.locator("#have-tyre-hover-16").check()
    page.get_by_role("button", name="Take what is on hand off the order").click()
    assert total(page) < before
    page.locator("#to-print").click()
    expect(page.get_by_role("heading", name="Kit list")).to_be_visible()


def test_an_unknown_part_in_an_address_is_mended_with_one_press(visit, settled):
    page = visit(f"{CAR}&pick=caliper-carn", may_fail=True)
    expect(page.get_by_role("alert")).to_contain_text("There is no part 'caliper-carn'")
    settled(page, page.get_by_role("link", name="Take caliper-cairn").click)
    expect(page.locator(".picks code")).to_have_text(["caliper-cairn"])


def test_the_page_says_when_the_catalogue_has_changed_since(visit, settled, demo):
    page = visit(f"{CAR}&pick=wheel-corrie-16&digest=0123456789abcdef")
    expect(page.get_by_role("note")).to_contain_text("The catalogue has changed")
    settled(page, page.locator("#go-on").click)
    expect(page.get_by_role("note")).to_have_count(0)
    assert f"digest={demo.digest}" in page.url
