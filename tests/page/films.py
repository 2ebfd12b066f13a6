"""Several films beside one page, fingers on its plots, its pins and the controls, in a real browser.

    films.py PAGE.html DOCUMENT.json FILM_FPS PICTURES

PAGE.html was made of the demo's own film and of parts of it, whose frames carry their numbers in the whole film.
"""
import json
import math
import pathlib
import shutil
import sys

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import sync_playwright

from found import close, failures, hold, said
from strip import frame_number

page_file, document_file, fps, pictures = sys.argv[1:]
page_file, pictures, fps = pathlib.Path(page_file).resolve(), pathlib.Path(pictures), float(fps)
document = json.loads(pathlib.Path(document_file).read_text())


def opened(browser, file, **options):
    page = browser.new_context(**{"viewport": {"width": 1440, "height": 900}, **options}).new_page()
    page.on("console", lambda m: failures.append(f"console: {m.type}: {m.text}"))
    page.on("pageerror", lambda e: failures.append(f"error in the page: {e}"))
    page.goto(file.as_uri())
    page.wait_for_selector("html[data-ready=all]")
    page.wait_for_timeout(400)
    return page


def go(page, session_s):
    page.evaluate(f"location.hash = '#t={session_s:.4f}'")
    page.wait_for_function(f"() => Math.abs(Number(document.querySelector('#cursor-when').dataset.at) - {session_s}) < 1e-3")
    page.wait_for_timeout(120)


def shown(page):
    """Which film is on the screen, whether it covers the moment, and the number of its frame."""
    page.wait_for_function("() => { const v = document.querySelector('video'); return v.readyState > 1 && !v.seeking; }")
    page.wait_for_timeout(150)
    away = page.evaluate("document.querySelector('video').classList.contains('away')")
    name = page.evaluate("decodeURIComponent(document.querySelector('video').getAttribute('src'))")
    box = page.locator("video").bounding_box()
    scale = box["width"] / page.evaluate("document.querySelector('video').videoWidth")
    return name, not away, None if away else frame_number(page.locator("video").screenshot(), scale)


def the_right_film(page, spans):
    """`spans`: for each film its file and the film times between which it has frames, in the order of the page."""
    fit = document["flight"]["films"][0]["fit"]
    session = lambda s: fit["pivot_s"] + fit["offset_at_pivot_s"] + fit["rate"] * (s - fit["pivot_s"])
    worst = 0
    moments = sorted({t for _, a, b in spans for t in (a + 0.001, (a + b) / 2 + 0.003, b - 1.5 / fps, b + 1.0)} | {2.0})
    current = None
    for film_s in moments:
        go(page, session(film_s))
        name, covers, number = shown(page)
        able = [file for file, a, b in spans if a <= film_s < b - 1 / fps]
        hold(covers == bool(able), f"at {film_s:.3f} s: {'a' if covers else 'no'} film is shown, {able or 'none'} covers it")
        if not able:
            said_so = page.locator(".nofilm").text_content()
            hold("No film at this time. The nearest, " in said_so, f"at {film_s:.3f} s the page says `{said_so}`")
            continue
        hold(name in able, f"at {film_s:.3f} s {name} is shown, {able} cover it")
        hold(current not in able or name == current, f"at {film_s:.3f} s {name} is shown, though {current} was there")
        current = name
        away = None if number is None else number - math.floor(film_s * fps + 1e-6)
        hold(away is not None and abs(away) <= 1, f"at {film_s:.3f} s of the film, in {name}: frame {number}, expected {film_s * fps:.2f}")
        worst = max(worst, abs(away or 0))
    said.append(f"{len(moments)} moments in {len(spans)} films, at most {worst} frames from the one asked for")


def films_are_listed(page, spans):
    buttons = page.locator("#films button")
    hold(buttons.count() == len(spans), f"{buttons.count()} films are listed")
    last = buttons.nth(buttons.count() - 1)
    last.focus()
    page.keyboard.press("Enter")
    name, covers, _ = shown(page)
    hold(name == spans[-1][0] and covers, f"the last film's button shows {name}, {covers}")
    hold(last.get_attribute("aria-current") == "true", "the film on the screen is not marked")


def plays_across(page, spans):
    """Played from shortly before the first film's end, the page goes on with the one that follows it."""
    fit = document["flight"]["films"][0]["fit"]
    end = spans[0][2]
    go(page, fit["pivot_s"] + fit["offset_at_pivot_s"] + fit["rate"] * (end - 0.8 - fit["pivot_s"]))
    before = shown(page)[0]
    page.locator("h1").click()
    page.keyboard.press("Space")
    page.wait_for_timeout(3500)
    page.keyboard.press("Space")
    name, covers, _ = shown(page)
    hold(before == spans[0][0], f"before the end {before} is shown")
    hold(covers and name == spans[1][0], f"beyond the first film's end {name} is shown, {covers}")


def pins(page):
    every = page.evaluate("[...document.querySelectorAll('#profile .pin')].map(p => [p.dataset.all.split(' ').map(Number), p.title])")
    begins = {}
    names = page.evaluate("[...document.querySelectorAll('tr[data-moment]')].map(r => r.querySelector('.what button').textContent)")
    for e in document["exceedances"] + document["events"]:
        begins.setdefault(e.get("name") or e["limit"][0].upper() + e["limit"][1:], []).append(e["from_s"])
    low = next(e for e in document["events"] if e["kind"] == "low_rotor")
    at = [(all, tip) for all, tip in every if any(low["name"].lower() == names[i].lower() for i in all)]
    hold(len(at) == 1, f"low rotor stands on {len(at)} pins")
    all, tip = at[0]
    hold(len(all) >= 2, f"low rotor's pin stands for {len(all)}: {tip}")
    for i in all:
        hold(names[i] in tip, f"`{names[i]}` is not in the tip `{tip}`")
    pin = page.locator(f"#profile .pin[data-all='{' '.join(map(str, all))}']")
    hold(pin.locator(".count").text_content() == str(len(all)), "the pin does not count its events")
    page.keyboard.press("Home")
    pin.focus()
    reached = []
    for _ in all:
        page.keyboard.press("Enter")
        page.wait_for_timeout(80)
        reached.append(int(page.evaluate("document.querySelector('tr[aria-current]').dataset.moment")))
    hold(sorted(reached) == sorted(all), f"the keyboard reaches {reached} of {all}")
    cell = page.locator(f"tr[data-moment='{all[0]}'] .facts").text_content()
    hold("same moment as" in cell, f"the list says `{cell}`")
    said.append(f"{len(every)} pins for {sum(len(all) for all, _ in every)} events")


def controls(page):
    """The lanes of the controls, and what they say at a moment, from the channel's own value."""
    tiles = page.locator(".controls .rowtile")
    page.locator(".controls").scroll_into_view_if_needed()
    page.wait_for_timeout(400)
    hold(tiles.count() == 4, f"{tiles.count()} controls")
    flight = document["flight"]
    for share in (0.4, 0.6, 0.8):
        go(page, flight["from_s"] + share * (flight["to_s"] - flight["from_s"]))
        values = dict(page.evaluate("[...document.querySelectorAll('[data-channel]')].map(b => [b.closest('tr').title, b.title])"))
        for i in range(tiles.count()):
            name, ends = tiles.nth(i).get_attribute("title").split(": ")
            low, high = ends.split(" to ")
            value, text = float(values[name]), tiles.nth(i).locator(".now").text_content()
            # As the panel file of tests/page/run says: the lever from 0 to 100, the others from -100 to 100.
            wanted = f"{abs(value):.0f} % {high if value > 0 else low}" if low != "down" else f"{value:.0f} %"
            number, wanted_number = (0 if t == "middle" else int(t.split(" %")[0]) for t in (text, wanted))
            hold(abs(number - wanted_number) <= 1 and (text == "middle" or text.split("%")[1] == wanted.split("%")[1]), f"{name} is {value}: `{text}`, expected `{wanted}`")
    page.locator(".controls").screenshot(path=pictures / "controls.png")


def fingers(browser, file):
    page = opened(browser, file, viewport={"width": 390, "height": 844}, has_touch=True, is_mobile=True, device_scale_factor=2)
    hands = page.context.new_cdp_session(page)
    plot = page.locator("#lanes .plot").nth(1)
    plot.scroll_into_view_if_needed()
    page.wait_for_timeout(300)
    box = plot.bounding_box()
    y = box["y"] + 40
    marks = lambda: page.evaluate("document.querySelector('.rulertimes').textContent")
    at = lambda: page.evaluate("Number(document.querySelector('#cursor-when').dataset.at)")

    def touch(kind, *xs):
        points = [{"x": x, "y": y, "id": i} for i, x in enumerate(xs)]
        hands.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

    def move(steps, start, end):
        touch("touchStart", *start)
        for n in range(1, steps + 1):
            touch("touchMove", *[a + (b - a) * n / steps for a, b in zip(start, end)])
            page.wait_for_timeout(20)
        touch("touchEnd")
        page.wait_for_timeout(200)

    # A tap sets the cursor.
    before = at()
    page.touchscreen.tap(box["x"] + 200, y)
    page.wait_for_timeout(150)
    hold(at() != before, "a tap does not move the cursor")
    whole, cursor = marks(), at()
    # Two fingers apart: closer; the same back: the whole flight.
    move(8, [box["x"] + 180, box["x"] + 220], [box["x"] + 100, box["x"] + 300])
    closer = marks()
    hold(closer != whole, "two fingers do not zoom")
    # One finger along: another part of the flight, as wide.
    move(8, [box["x"] + 260], [box["x"] + 140])
    along = marks()
    hold(along != closer, "one finger does not move the window")
    hold(at() == cursor, "fingers that move set the cursor")
    for _ in range(4):
        move(8, [box["x"] + 80, box["x"] + 320], [box["x"] + 190, box["x"] + 215])
    hold(marks() == whole, "two fingers together do not show the whole flight")
    said.append("fingers tap, pinch and pull")
    page.screenshot(path=pictures / "fingers.png")


with sync_playwright() as playwright:
    chromium = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
    browser = playwright.chromium.launch(executable_path=chromium, args=["--no-sandbox", "--autoplay-policy=no-user-gesture-required"])
    page = opened(browser, page_file)
    duration = document["flight"]["films"][0]["duration_s"]
    spans = [("first.mp4", 0.0, 20.0), ("rest.mp4", 20.0, 50.0), ("event.mp4", 60.0, 66.0)]
    the_right_film(page, spans)
    films_are_listed(page, spans)
    plays_across(page, spans)
    pins(page)
    controls(page)
    for violation in Axe().run(page).response["violations"]:
        hold(False, f"axe: {violation['id']}: {violation['help']}: {violation['nodes'][0]['html'][:160]}")
    page.locator("#filmcard").screenshot(path=pictures / "films.png")
    page.locator("#profile").screenshot(path=pictures / "pins.png")
    fingers(browser, page_file)
    browser.close()

close()
