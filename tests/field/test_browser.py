"""The pages in a real browser: reach, size and words of every page; answers saved one by one."""

import pytest
from playwright.sync_api import Page, expect

from apps.visits.models import Line, Value
from tests.field.browser import AXE, RULES, SMALL, TINY, address, chromium, screen  # noqa: F401
from tests.field.conftest import Phone
from tests.field.test_pages import addresses

pytestmark = pytest.mark.browser


def value(path: str) -> object:
    """Return what stands at the end of a path."""
    row = Value.objects.filter(path__endswith=path).first()
    return row.value if row else None


def line_of(phone: Phone) -> Line:
    """Return a line that asks for no reading."""
    return phone.sheet.lines.get(code="cables_look")


def test_every_page_can_be_read_and_reached(phone: Phone, screen: Page) -> None:  # noqa: F811
    for measurand, typed in (("temp", "28"), ("ph", "6.01"), ("no2", "3.1"), ("ec", "71")):
        phone.read(measurand, typed)
    pages = {
        "round": "/field/online/", **addresses(phone), "harmful": phone.reading_url("no2"),
        "refused": phone.reading_url("ec"), "result": phone.url("result"),
    }  # fmt: skip
    phone.post("left_running", {"tick": ["pumps", "air", "level", "lid", "gate"], "note": "none"})
    for name, where in pages.items():
        if name == "result":
            phone.read("ec", "0.71")
            assert phone.post("finish").status_code == 302
        screen.set_viewport_size({"width": 390, "height": 844})
        screen.goto(where)
        screen.evaluate(AXE)
        run = "t => axe.run(document, {runOnly: {type: 'tag', values: t}})"
        found = screen.evaluate(run, RULES)["violations"]
        assert [(rule["id"], rule["nodes"][0]["html"]) for rule in found] == [], name
        assert screen.evaluate(SMALL) == [], name
        assert screen.evaluate(TINY) == [], name
        screen.set_viewport_size({"width": 320, "height": 640})
        assert screen.evaluate("document.documentElement.scrollWidth") <= 320, name


def test_a_note_waits_for_the_signal(phone: Phone, screen: Page) -> None:  # noqa: F811
    line = line_of(phone)
    screen.goto(phone.url("line", line=line.pk))
    screen.route("**/api/v1/**", lambda route: route.abort())
    screen.get_by_label("Note").fill("Wet under the pump")
    screen.get_by_role("heading", level=1).click()
    expect(screen.locator("#saved")).to_contain_text("Not saved")
    assert value(f"{line.pk}/note") is None
    assert screen.get_by_label("Note").input_value() == "Wet under the pump"
    screen.unroute("**/api/v1/**")
    screen.evaluate("dispatchEvent(new Event('online'))")
    expect(screen.locator("#saved")).to_contain_text("Saved")
    expect(screen.locator("#saved")).not_to_contain_text("Not")
    assert value(f"{line.pk}/note") == "Wet under the pump"


def test_done_is_saved_and_goes_on(phone: Phone, screen: Page) -> None:  # noqa: F811
    line = line_of(phone)
    screen.goto(phone.url("line", line=line.pk))
    screen.get_by_role("button", name="Done", exact=True).click()
    screen.wait_for_url(lambda url: str(line.pk) not in url)
    assert value(f"{line.pk}/outcome") == "done"
    screen.get_by_role("button", name="Undo").click()
    expect(screen.get_by_text("Taken back")).to_be_visible()
    assert value(f"{line.pk}/outcome") == ""


def test_not_done_opens_the_reasons(phone: Phone, screen: Page) -> None:  # noqa: F811
    line = line_of(phone)
    screen.goto(phone.url("line", line=line.pk))
    screen.get_by_role("link", name="Not done").click()
    screen.get_by_role("button", name="Ran out of time").click()
    screen.wait_for_url(lambda url: str(line.pk) not in url)
    assert (value(f"{line.pk}/outcome"), value(f"{line.pk}/reason")) == ("not_done", "no_time")


def test_a_reading_is_judged_when_its_field_is_left(phone: Phone, screen: Page) -> None:  # noqa: F811
    screen.goto(phone.reading_url("no2"))
    screen.locator("#value").fill("3,1")
    screen.locator("#value").blur()
    expect(screen.get_by_role("alert")).to_contain_text("Stay until the fish are safe.")
    expect(screen.locator("#meaning")).to_contain_text("harmful")
    assert value("/as_typed") == "3,1"
    screen.get_by_role("button", name="Checked twice: it is 3,1").click()
    expect(screen.get_by_text("Checked twice.")).to_be_visible()
    assert value("/checked_twice") is True
    screen.get_by_role("button", name="Next").click()
    screen.wait_for_url(lambda url: "/no2/" not in url)


def test_next_shows_what_is_amiss_before_it_goes_on(phone: Phone, screen: Page) -> None:  # noqa: F811
    screen.goto(phone.reading_url("alk"))
    screen.locator("#value").fill("31")
    screen.get_by_role("button", name="Next").click()
    expect(screen.locator("#meaning")).to_contain_text("out of band")
    screen.get_by_role("button", name="Next").click()
    screen.wait_for_url(lambda url: "/alk/" not in url)


def test_a_slip_is_put_right_with_one_tap(phone: Phone, screen: Page) -> None:  # noqa: F811
    screen.goto(phone.reading_url("ph"))
    screen.locator("#value").fill("68")
    screen.locator("#value").blur()
    screen.get_by_role("button", name="Did you mean 6.8?").click()
    expect(screen.locator("#meaning")).to_contain_text("in band")
    expect(screen.locator("#value")).to_have_value("6.8")


def test_no_number_stays_on_the_page(phone: Phone, screen: Page) -> None:  # noqa: F811
    screen.goto(phone.reading_url("ph"))
    screen.locator("#value").fill("6.8.1")
    screen.locator("#value").blur()
    expect(screen.locator("#saved")).to_contain_text("Not saved")
    expect(screen.locator("#fault")).to_contain_text("number")
    expect(screen.locator("#value")).to_have_value("6.8.1")


def test_two_answers_are_both_shown(phone: Phone, screen: Page) -> None:  # noqa: F811
    screen.goto(phone.reading_url("ph"))
    phone.read("ph", "6.9")
    screen.locator("#value").fill("6.5")
    screen.locator("#value").blur()
    expect(screen.get_by_role("heading", name="pH")).to_be_visible()
    screen.get_by_role("button", name="Keep mine: 6.5").click()
    screen.wait_for_url(lambda url: True)
    expect(screen.get_by_text("All saved")).to_be_visible()
    assert value("/value") == 6.5


def test_a_form_without_signal_keeps_its_words(phone: Phone, screen: Page) -> None:  # noqa: F811
    screen.goto(phone.url("left_running"))
    screen.get_by_label("Note").fill("Camera is broken")
    screen.get_by_label("Pumps run").check()
    screen.context.set_offline(True)
    screen.get_by_role("button", name="Everything runs").click()
    expect(screen.locator("#saved")).to_contain_text("No signal")
    assert screen.get_by_label("Pumps run").is_checked()
    screen.context.set_offline(False)
    screen.get_by_role("button", name="Everything runs").click()
    expect(screen.get_by_role("alert")).to_contain_text("Not yet")


def test_a_line_answered_twice_asks_too(phone: Phone, screen: Page) -> None:  # noqa: F811
    line = line_of(phone)
    screen.goto(phone.url("line", line=line.pk))
    phone.post("line", {"outcome": "not_here"}, line=line.pk)
    screen.get_by_role("button", name="Done", exact=True).click()
    expect(screen.get_by_text("Keep theirs: not here")).to_be_visible()
    screen.get_by_role("button", name="Keep mine: done").click()
    screen.wait_for_url(lambda url: str(line.pk) not in url)
    assert value(f"{line.pk}/outcome") == "done"
