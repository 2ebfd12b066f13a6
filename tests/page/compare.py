"""Two flights over each other, in a real browser, from a file: address, held against what the program itself writes.

    compare.py PAGE.html DOCUMENT.json READINGS_HERE.csv READINGS_THERE.csv PICTURES

PAGE.html and DOCUMENT.json are of `debrief --compare`, the readings those of both flights, every hundredth of a second. Pictures to be looked at go to
the folder PICTURES. Exit code 1 where something does not hold.
"""
import bisect
import csv
import json
import pathlib
import random
import shutil
import sys

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import sync_playwright

from found import close, failures, hold, said

page_file, document_file, here_file, there_file, pictures = map(pathlib.Path, sys.argv[1:])
page_file = page_file.resolve()
told = json.loads(document_file.read_text())["comparison"]


def readings(file):
    rows = list(csv.DictReader(open(file)))
    return [float(row["session_s"]) for row in rows], rows


def opened(browser, width, scheme, height=900, scale=1):
    page = browser.new_context(viewport={"width": width, "height": height}, color_scheme=scheme, device_scale_factor=scale).new_page()
    page.on("console", lambda m: failures.append(f"console: {m.type}: {m.text}"))
    page.on("pageerror", lambda e: failures.append(f"error in the page: {e}"))
    page.on("request", lambda r: hold(r.url == page_file.as_uri(), f"a request to {r.url}"))
    page.goto(page_file.as_uri())
    page.wait_for_selector("html[data-ready=all]")
    page.wait_for_timeout(300)
    return page


def anchor(occurrence, by):
    if by in ("start", "end"):
        return occurrence["from_s" if by == "start" else "to_s"]
    return next(mark["at_s"] for mark in occurrence["marks"] if mark["name"] == by)


def chosen(page):
    value = lambda name: page.locator(f"#compare-{name}").input_value()
    return told["here"][int(value("mine"))], told["there"][int(value("other"))], value("by")


def put(page, u):
    page.evaluate("u => { const it = document.getElementById('compare-cursor'); it.value = u; it.dispatchEvent(new Event('input')); }", u)
    return page.evaluate("(({ here, there }) => [Number(here), Number(there)])(document.querySelector('.comparecursor output').dataset)")


def values_are_the_readings(page):
    """Both flights' values at the cursor, whichever is laid over which."""
    logs = [readings(here_file), readings(there_file)]
    some, compared = random.Random(4), 0
    cases = [(phase, None) for phase in dict.fromkeys(o["phase"] for o in told["here"])] + [("AUTOROTATION", "end"), ("APPROACH", "landing")]
    for phase, by in cases:
        page.locator("#compare-phase").select_option(phase)
        if by:
            page.locator("#compare-by").select_option(by)
        here, there, by = chosen(page)
        hold(here["phase"] == there["phase"] == phase, f"{phase}: {here['phase']} over {there['phase']}")
        zero = [anchor(here, by), anchor(there, by)]
        for side in (0, 1):
            times, rows = logs[side]
            for _ in range(6):
                # On the grid of the readings of one of the two.
                t = (here, there)[side]["from_s"] + some.random() * ((here, there)[side]["to_s"] - (here, there)[side]["from_s"])
                i = min(bisect.bisect(times, t), len(times) - 1)
                at = put(page, times[i] - zero[side])
                hold(abs(at[side] - times[i]) < 1e-6, f"{phase}, laid by {by}: cursor at {at}, put to {times[i]}")
                hold(abs((at[0] - zero[0]) - (at[1] - zero[1])) < 1e-6, f"{phase}: the two do not meet at {by}")
                found = page.evaluate("() => [...document.querySelectorAll('.comparelane[title]')].map(l => [l.title, ...[...l.querySelectorAll('.comparenow b')].map(b => b.title)])")
                names = {c["channel"]: c["other"] for c in told["channels"] if c["compared"]}
                for name, *both in found:
                    other = name if side == 0 else names[name]
                    column = next((key for key in rows[i] if key == other or key.startswith(other + " [")), None)
                    if column is None or name.startswith("calc."):
                        continue
                    value, wanted = both[side], rows[i][column]
                    if value == "" or wanted == "":
                        # A state may turn within the microsecond to which the readings' times are written.
                        hold(value == wanted or rows[i - 1][column] == value, f"{name} at {times[i]}: `{value}`, readings say `{wanted}`")
                    else:
                        compared += 1
                        near = [float(rows[j][column]) for j in (i - 1, i, min(i + 1, len(rows) - 1)) if rows[j][column] != ""]
                        hold(min(near) - 6e-5 <= float(value) <= max(near) + 6e-5 or abs(float(value) - float(wanted)) < 6e-5, f"{name} at {times[i]}: {value}, readings say {wanted}")
    hold(compared > 300, f"only {compared} values were compared")
    said.append(f"{compared} values under the cursor are the readings of their flight")


def figures_are_the_documents(page):
    pair = told["pairs"][0]
    page.locator("#compare-phase").select_option(pair["phase"])
    here, there, by = chosen(page)
    hold((here, there, by) == (told["here"][pair["here"]], told["there"][pair["there"]], pair["laid_by"]), f"not the document's first pair: {by}")
    compared = [c for c in told["channels"] if c["compared"]]
    number = lambda text: float(text.replace("\u2212", "-").replace("+", ""))
    seen = 0
    for row in page.locator(".comparefigures tbody tr").all():
        cells = row.locator("td").all()
        name = cells[0].locator("b").text_content()
        i = next(i for i, c in enumerate(compared) if c["channel"] == name)
        for k, key in enumerate(("least", "mean", "greatest")):
            for side, place in ((here, 1), (there, 2)):
                text = cells[3 * k + place].locator("b").text_content()
                hold(abs(number(text) - side["figures"][i][key]) <= 0.5 * 10 ** -len(text.partition(".")[2]) + 1e-9, f"{name}, {key}: {text}, the document says {side['figures'][i][key]}")
                seen += 1
            text = cells[3 * k + 3].locator("b").text_content()
            hold(abs(number(text) - pair["differences"][i][key]) <= 0.5 * 10 ** -len(text.partition(".")[2]) + 1e-9, f"{name}, difference of {key}: {text}")
    hold(seen > 30, f"only {seen} figures were compared")
    said.append(f"{seen} figures are the document's")


def keys_work(page):
    at = lambda: page.evaluate("Number(document.querySelector('.comparecursor output').dataset.at)")
    cursor = lambda: page.evaluate("Number(document.querySelector('#cursor-when').dataset.at)")
    page.locator("#compare-cursor").focus()
    put(page, 1)
    before, page_before = at(), cursor()
    page.keyboard.press("ArrowRight")
    hold(abs(at() - before - 0.1) < 1e-6, f"ArrowRight moves both from {before} to {at()}")
    page.keyboard.press("Shift+ArrowLeft")
    hold(abs(at() - before + 0.9) < 1e-6, f"Shift and ArrowLeft move both to {at()}")
    page.keyboard.press("Home")
    first = at()
    page.keyboard.press("End")
    hold(first < 0 < at(), f"Home and End: {first}, {at()}")
    page.locator("#compare-phase").focus()
    was = page.locator("#compare-phase").input_value()
    page.keyboard.press("ArrowDown")
    page.keyboard.press("Enter")
    page.wait_for_timeout(100)
    hold(page.locator("#compare-phase").input_value() != was, "a phase cannot be chosen with the keyboard")
    hold(cursor() == page_before, "the keys of a field moved the page's own cursor")
    # A click on a curve.
    page.locator("#compare-phase").select_option(told["pairs"][0]["phase"])
    box = page.locator(".compareplot").nth(2).bounding_box()
    page.mouse.click(box["x"] + box["width"] * 0.75, box["y"] + 20)
    hold(at() > 0, "a click on a curve does not move the cursor")


def lines_differ(page):
    """The other flight's line is broken, and of another lightness: told apart without colour."""
    styles = page.evaluate("() => [...document.querySelectorAll('.comparekey path')].map(p => [getComputedStyle(p).strokeDasharray, getComputedStyle(p).stroke])")
    light = lambda rgb: sum(w * int(v) for w, v in zip((0.2126, 0.7152, 0.0722), rgb[4:-1].split(",")))
    hold(styles[0][0] == "none" and styles[1][0] != "none", f"dashes {styles}")
    hold(abs(light(styles[0][1]) - light(styles[1][1])) > 50, f"lightness {styles}")


def all_can_use_it(page, what):
    found = Axe().run(page).response["violations"]
    for violation in found:
        failures.append(f"axe, {what}: {violation['id']}: {violation['help']}: {violation['nodes'][0]['html'][:160]}")
    said.append(f"axe, {what}: {len(found)} findings")


def look(page, name):
    page.locator("#comparecard").screenshot(path=pictures / f"compare_{name}.png")


with sync_playwright() as playwright:
    chromium = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
    browser = playwright.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
    page = opened(browser, 1440, "light")
    lines_differ(page)
    figures_are_the_documents(page)
    values_are_the_readings(page)
    keys_work(page)
    all_can_use_it(page, "1440 px, light, compared")
    look(page, "light")
    page.pdf(path=pictures / "compare_paper.pdf", prefer_css_page_size=True, print_background=True)
    page = opened(browser, 1440, "dark")
    all_can_use_it(page, "1440 px, dark, compared")
    look(page, "dark")
    page = opened(browser, 390, "light", 844, 2)
    wide = page.evaluate("document.documentElement.scrollWidth")
    hold(wide == 390, f"at 390 px the page is {wide} px wide")
    all_can_use_it(page, "390 px, compared")
    look(page, "phone")
    browser.close()

close()
