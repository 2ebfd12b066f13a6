"""The debrief page in a real browser, from a file: address, held against what the program itself writes.

    browse.py PAGE.html DOCUMENT.json READINGS.csv FILM_FPS PICTURES

PAGE.html is a page with the demo's own film, whose every frame carries its number; DOCUMENT.json is `debrief --json`, READINGS.csv
`readings` of the same flight. Pictures to be looked at go to the folder PICTURES. Prints what it found; exit code 1
where something does not hold.
"""
import csv
import json
import math
import pathlib
import random
import shutil
import sys

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import sync_playwright

from found import close, failures, hold, said
from strip import frame_number

page_file, document_file, readings_file, fps, pictures = sys.argv[1:]
page_file, pictures, fps = pathlib.Path(page_file).resolve(), pathlib.Path(pictures), float(fps)
pictures.mkdir(parents=True, exist_ok=True)
document = json.loads(pathlib.Path(document_file).read_text())


def opened(browser, width, scheme, height=900, scale=1):
    context = browser.new_context(viewport={"width": width, "height": height}, color_scheme=scheme, device_scale_factor=scale)
    page = context.new_page()
    page.on("console", lambda m: failures.append(f"console: {m.type}: {m.text}"))
    page.on("pageerror", lambda e: failures.append(f"error in the page: {e}"))
    film = page_file.parent.as_uri()
    page.on("request", lambda r: hold(r.url.startswith(film), f"a request to {r.url}"))
    page.goto(page_file.as_uri())
    page.wait_for_selector("html[data-ready=all]")
    page.wait_for_timeout(400)
    return page


def settled(page):
    """Waits until the film has shown the frame that was asked for."""
    page.wait_for_function("() => { const v = document.querySelector('video'); return v.readyState > 1 && !v.seeking; }")
    page.wait_for_timeout(150)


def clicks_seek_the_film(page):
    video = page.locator("video")
    scale = video.bounding_box()["width"] / page.evaluate("document.querySelector('video').videoWidth")
    rows = page.locator("tr[data-moment]")
    fit = document["flight"]["films"][0]["fit"]
    worst = 0
    seen = 0
    for i in range(rows.count()):
        row = rows.nth(i)
        row.locator("button").click()
        hold(row.get_attribute("aria-current") == "true", f"event {i + 1} is not marked as chosen")
        shown = page.evaluate("Number(document.querySelector('#cursor-when').dataset.at)")
        film_s = fit["pivot_s"] + (shown - fit["pivot_s"] - fit["offset_at_pivot_s"]) / fit["rate"]
        if not 0 <= film_s <= document["flight"]["films"][0]["duration_s"] - 1 / fps:
            continue
        settled(page)
        number = frame_number(video.screenshot(), scale)
        if number is None:
            failures.append(f"event {i + 1}: the film's frame cannot be read at {film_s:.3f} s")
            continue
        seen += 1
        away = number - math.floor(film_s * fps + 1e-6)
        worst = max(worst, abs(away))
        hold(abs(away) <= 1, f"event {i + 1}: frame {number} is shown, {film_s * fps:.2f} was asked for")
    hold(seen > 0, "no event lies in the film")
    said.append(f"{rows.count()} events, {seen} of them in the film, at most {worst} frames from the one asked for")


def values_are_the_readings(page):
    rows = list(csv.DictReader(open(readings_file)))
    states_of = lambda row: [cell for key, cell in row.items() if key.endswith(".state")]
    # Where a state has just changed, and the moment before; and anywhere.
    turns = [i for i in range(1, len(rows)) if states_of(rows[i]) != states_of(rows[i - 1])]
    some = random.Random(9)
    turns = some.sample(turns, min(25, len(turns)))
    chosen = [rows[i - n] for i in turns for n in (0, 1)] + some.sample(rows, min(25, len(rows)))
    compared = states = 0
    for row in chosen:
        t = float(row["session_s"])
        page.evaluate(f"location.hash = '#t={t}'")
        page.wait_for_function(f"() => Math.abs(Number(document.querySelector('#cursor-when').dataset.at) - {t}) < 1e-9")
        found = page.evaluate(
            "() => [...document.querySelectorAll('[data-channel]')].map(b => [b.closest('tr').title, b.title, b.closest('tr').querySelector('.state').className])"
        )
        for name, value, state in found:
            column = next(key for key in row if key == name or key.startswith(name + " ["))
            wanted, wanted_state = row[column], row[name + ".state"]
            states += 1
            hold(state.split()[-1] == wanted_state, f"{name} at {t} s: {state}, readings say {wanted_state}")
            if wanted == "" or value == "":
                hold(wanted == value, f"{name} at {t} s: `{value}`, readings say `{wanted}`")
            else:
                compared += 1
                # Readings have four places; computed channels are kept to the sixth.
                hold(abs(float(value) - float(wanted)) <= 5.2e-5, f"{name} at {t} s: {value}, readings say {wanted}")
    hold(compared > 300, f"only {compared} values were compared")
    said.append(f"{compared} values and {states} states are those of the readings")


def keys_work(page):
    at = lambda: page.evaluate("Number(document.querySelector('#cursor-when').dataset.at)")
    flight = document["flight"]
    page.locator("h1").click()

    def press(key, expected, tolerance=1e-6):
        page.keyboard.press(key)
        page.wait_for_timeout(80)
        hold(abs(at() - expected) <= tolerance, f"{key}: the cursor is at {at()}, expected {expected}")

    press("Home", flight["from_s"])
    press("ArrowRight", flight["from_s"] + 1)
    press("Shift+ArrowRight", flight["from_s"] + 11)
    press("ArrowLeft", flight["from_s"] + 10)
    press("End", flight["to_s"])
    spans = lambda: page.evaluate("document.querySelector('.rulertimes').textContent")
    whole = spans()
    page.keyboard.press("+")
    page.wait_for_timeout(80)
    hold(spans() != whole, "+ does not zoom")
    page.keyboard.press("0")
    page.wait_for_timeout(80)
    hold(spans() == whole, "0 does not show the whole flight")
    page.keyboard.press("Home")
    page.keyboard.press("]")
    page.wait_for_timeout(80)
    first = page.evaluate("document.querySelector('tr[aria-current]').dataset.moment")
    page.keyboard.press("]")
    page.wait_for_timeout(80)
    second = page.evaluate("document.querySelector('tr[aria-current]').dataset.moment")
    hold(int(second) == int(first) + 1, f"]: event {first}, then {second}")
    page.keyboard.press("[")
    page.wait_for_timeout(80)
    hold(page.evaluate("document.querySelector('tr[aria-current]').dataset.moment") == first, "[ does not go back")

    # Play: the film leads, and the cursor follows it.
    fit = flight["films"][0]["fit"]
    page.evaluate(f"location.hash = '#t={fit['pivot_s'] + fit['offset_at_pivot_s']:.3f}'")
    page.wait_for_timeout(300)
    settled(page)
    before = at()
    page.keyboard.press("Space")
    page.wait_for_timeout(2500)
    film_s, cursor = page.evaluate("[document.querySelector('video').currentTime, Number(document.querySelector('#cursor-when').dataset.at)]")
    page.keyboard.press("Space")
    film_s = fit["pivot_s"] + fit["offset_at_pivot_s"] + fit["rate"] * (film_s - fit["pivot_s"])
    hold(cursor > before + 0.8, f"playing for 2.5 s moved the cursor from {before} to {cursor} only")
    hold(abs(film_s - cursor) < 0.2, f"while playing the film is at {film_s}, the cursor at {cursor}")
    said.append(f"played {cursor - before:.2f} s in 2.5 s; film and cursor {abs(film_s - cursor) * 1000:.0f} ms apart when both were asked")


def dragging_zooms(page):
    page.locator("#lanes .plot").nth(3).scroll_into_view_if_needed()
    box = page.locator("#lanes .plot").nth(3).bounding_box()
    page.mouse.move(box["x"] + 200, box["y"] + 40)
    page.mouse.down()
    page.mouse.move(box["x"] + 300, box["y"] + 44, steps=4)
    before = page.evaluate("document.querySelector('.rulertimes').textContent")
    page.mouse.up()
    page.wait_for_timeout(100)
    hold(page.evaluate("document.querySelector('.rulertimes').textContent") != before, "dragging does not zoom")
    page.mouse.dblclick(box["x"] + 200, box["y"] + 40)
    page.wait_for_timeout(100)
    hold(page.evaluate("document.querySelector('.rulertimes').textContent") == before, "a double click does not show the whole flight")


def all_can_use_it(page, what):
    found = Axe().run(page).response["violations"]
    for violation in found:
        node = violation["nodes"][0]
        failures.append(f"axe, {what}: {violation['id']}: {violation['help']}: {node['html'][:160]}: {node['failureSummary'][:200]}")
    said.append(f"axe, {what}: {len(found)} findings")


def look(page, name):
    page.set_viewport_size({"width": page.viewport_size["width"], "height": min(8000, page.evaluate("document.documentElement.scrollHeight"))})
    page.wait_for_timeout(900)
    page.screenshot(path=pictures / f"{name}.png")


with sync_playwright() as playwright:
    chromium = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
    browser = playwright.chromium.launch(executable_path=chromium, args=["--no-sandbox", "--autoplay-policy=no-user-gesture-required"])
    page = opened(browser, 1440, "light")
    timing = page.evaluate("document.documentElement.dataset.usable")
    said.append(f"{page_file.stat().st_size / 1e6:.1f} MB, usable {timing} ms after it was asked for")
    clicks_seek_the_film(page)
    values_are_the_readings(page)
    keys_work(page)
    dragging_zooms(page)
    all_can_use_it(page, "1440 px, light")
    look(page, "light")
    page.pdf(path=pictures / "paper.pdf", prefer_css_page_size=True, print_background=True)
    page = opened(browser, 1440, "dark")
    all_can_use_it(page, "1440 px, dark")
    look(page, "dark")
    page = opened(browser, 390, "light", 844, 2)
    wide = page.evaluate("document.documentElement.scrollWidth")
    hold(wide == 390, f"at 390 px the page is {wide} px wide")
    all_can_use_it(page, "390 px")
    look(page, "phone")
    browser.close()

close()
