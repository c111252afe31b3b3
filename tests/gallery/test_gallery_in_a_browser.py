"""The site in Chromium, served from this machine: what a visitor sees, on a phone and a desk, light and dark, without
script, by keyboard.

Accessibility is judged by axe-core (its rules follow WCAG 2), layout by CSSOM View (`scrollWidth`), downloads by their
own sums. Run where Chromium and playwright are installed; skipped elsewhere.
"""

import functools
import hashlib
import http.server
import re
import shutil
import threading
import urllib.request
from urllib.parse import parse_qs, urlsplit

import pytest
from made_packs import choice, make

from foamwright.gallery.site import build_site
from foamwright.store import Store

sync_api = pytest.importorskip("playwright.sync_api")
axe = pytest.importorskip("axe_playwright_python.sync_playwright")
CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="Chromium is not installed")

PATIENCE = 180_000  # milliseconds, on a machine that does much else
PHONE, DESK = (390, 844), (1280, 900)
MARKUP = "</title><script>window.hacked=1</script><img src=x onerror=window.hacked=1>\"'{{7*7}}&amp;"
HOSTILE = {"markup": MARKUP, "arabic": "\u0645\u0635\u0628\u0627\u062d \u202eevil", "long": "W" * 10_000}
PAGES = ("index.html", "lamp/index.html", *(f"{name}/index.html" for name in HOSTILE))


class Quiet(http.server.SimpleHTTPRequestHandler):
    def log_message(self, *_):
        pass


@pytest.fixture(scope="module")
def site(tmp_path_factory):
    folder = tmp_path_factory.mktemp("browser")
    channel = {"to_measure": "https://example.org/ask", "video": "https://example.org/film", "times": {"lid": "2:05"}}
    channel["suppliers"] = {"shell": [{"name": "Foam & Co", "address": "https://example.org/foam", "paid": True}]}
    make(folder / "packs/lamp", channel=channel)
    make(folder / "packs/lamp-large", size="large", width=700.0, channel=channel)
    for name, words in HOSTILE.items():
        told = {"summary": words, "author": words, "size_note": words, "history": [{"version": "1.0.0", "text": words}]}
        told["choices"] = [choice("girth", 1.0, "mm", 0.0, 9.0, words)]
        told["channel"] = {"feedback": "javascript:window.hacked=1", "credit": words, "video": f"https://x.org/{words}"}
        make(folder / "packs" / name, design=name, name=words, **told)
    build_site([str(folder / "packs")], folder / "site", "Props", "", Store(None))
    return folder / "site"


@pytest.fixture(scope="module")
def address(site):
    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), functools.partial(Quiet, directory=site))
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield f"http://127.0.0.1:{server.server_port}/"
    server.shutdown()


@pytest.fixture(scope="module")
def browser():
    with sync_api.sync_playwright() as playwright:
        drawn = ["--no-sandbox", "--use-gl=angle", "--use-angle=swiftshader", "--enable-unsafe-swiftshader"]
        found = playwright.chromium.launch(executable_path=CHROMIUM, args=drawn, timeout=PATIENCE)
        yield found
        found.close()


@pytest.fixture
def opened(browser, address):
    """Opens a page; everything that goes wrong there is in its `faults`."""
    contexts = []

    def open_(path, size=DESK, **more):
        contexts.append(browser.new_context(viewport={"width": size[0], "height": size[1]}, **more))
        contexts[-1].set_default_timeout(PATIENCE)
        page = contexts[-1].new_page()
        page.faults = []
        page.on("console", lambda m: m.type in ("error", "warning") and page.faults.append(m.text))
        page.on("pageerror", lambda error: page.faults.append(str(error)))
        page.on("dialog", lambda dialog: (page.faults.append(dialog.message), dialog.dismiss()))

        def watch(route):
            if route.request.url.startswith((address, "data:", "blob:", "file:")):
                route.continue_()
            else:
                page.faults.append(f"outside request: {route.request.url}")
                route.abort()

        page.route("**/*", watch)
        page.goto(path if "://" in path else address + path)
        return page

    yield open_
    for context in contexts:
        context.close()


def shown_in_3d(page):
    page.click("#load")
    page.wait_for_selector("#stage[data-ready]", timeout=PATIENCE)
    return page.locator("#stage canvas")


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("size", [PHONE, DESK])
def test_every_page_is_sound_and_accessible(opened, scheme, size):
    for path in PAGES:
        page = opened(path, size, color_scheme=scheme)
        assert page.evaluate("document.documentElement.scrollWidth") <= size[0], path
        broken = page.evaluate("[...document.images].filter(i => i.complete && !i.naturalWidth).length")
        assert broken == 0, path
        page.evaluate("document.querySelectorAll('details').forEach(d => d.open = true)")
        found = axe.Axe().run(page).response["violations"]
        assert [v["id"] for v in found if v["impact"] in ("serious", "critical")] == [], (path, found)
        assert page.faults == [], path


def test_a_fault_would_be_seen(opened):
    """The check itself: an error, an outside request and a picture without words are found out."""
    page = opened("index.html", bypass_csp=True)
    page.evaluate("document.body.insertAdjacentHTML('beforeend', '<img src=https://example.org/x.png>')")
    with page.expect_event("pageerror"):
        page.evaluate("setTimeout(() => { throw new Error('thrown') })")
    page.wait_for_function("[...document.images].at(-1).complete")  # its request has been kept back
    assert any("outside request" in fault for fault in page.faults) and any("thrown" in f for f in page.faults)
    assert "image-alt" in [v["id"] for v in axe.Axe().run(page).response["violations"]]


def test_the_policy_of_the_pages_stops_outside_requests_and_script_in_them(opened):
    page = opened("index.html")
    told = page.evaluate(
        """() => new Promise((told) => {
            const stopped = [];
            document.addEventListener('securitypolicyviolation', (event) => {
                stopped.push(event.effectiveDirective);
                if (stopped.length === 2) told(stopped.sort());
            });
            const picture = '<img src=https://example.org/x.png onerror=window.hacked=1>';
            document.body.insertAdjacentHTML('beforeend', picture);
        })"""
    )
    assert told == ["img-src", "script-src-attr"]
    assert not [fault for fault in page.faults if fault.startswith("outside request")]
    assert page.evaluate("window.hacked") is None


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_words_stay_words(opened, name):
    page = opened(f"{name}/index.html")
    shown_in_3d(page)
    assert page.evaluate("window.hacked") is None
    told = HOSTILE[name].replace("\u202e", "\ufffd")  # marks that turn the direction of what follows are not carried
    assert page.locator("h1").inner_text().replace("\n", "") == told
    assert page.locator("a[href^='javascript']").count() == 0
    assert page.locator("main script:not([type='application/json'])").count() == 0
    page.fill("input[type=number]", "3")
    assert page.locator("#command").inner_text() == f"foamwright fit {name}.yaml --measure girth=3mm"
    assert page.faults == []


def test_downloads_are_what_their_sums_say(opened, address):
    """Each file as it is served; that a click saves it is tried of the one that most will take, on a page where nothing
    was saved before, as browsers may ask before they save several."""
    page = opened("lamp/index.html")
    page.evaluate("document.querySelectorAll('details').forEach(d => d.open = true)")
    rows = page.locator("#downloads ~ details tbody tr")
    assert rows.count() == 14  # seven files of each of two sizes
    sums = {}
    for row in rows.all():
        link = row.locator("a")
        assert link.get_attribute("download") is not None
        place = link.evaluate("link => link.href")
        with urllib.request.urlopen(place, timeout=PATIENCE / 1000) as answer:
            sums[place] = hashlib.sha256(answer.read()).hexdigest()
        assert sums[place] == row.locator("code").inner_text()
    assert len(sums) == 14
    with page.expect_download() as waiting:
        rows.first.locator("a").click()
    assert hashlib.sha256(waiting.value.path().read_bytes()).hexdigest() == sums[waiting.value.url]


def test_the_view_turns_comes_apart_and_shows_the_steps_by_keyboard(opened):
    page = opened("lamp/index.html", PHONE)
    page.focus("#load")
    page.keyboard.press("Enter")
    page.wait_for_selector("#stage[data-ready='5']", timeout=PATIENCE)  # four sides and a lid
    canvas, told = page.locator("#stage canvas"), page.locator("#stage output")
    looks = [canvas.screenshot()]
    canvas.focus()
    page.keyboard.press("ArrowLeft")
    looks.append(canvas.screenshot())
    page.focus("#apart")
    page.keyboard.press("End")
    looks.append(canvas.screenshot())
    page.click("text=Step back")
    assert told.inner_text().startswith("Step 1 of 3: Cut")  # whatever is cut is there from then on
    looks.append(canvas.screenshot())
    page.click("text=All of it")
    assert told.inner_text() == "All of it"
    assert len(set(looks)) == len(looks)
    page.select_option("#model", "1")
    page.get_by_text("All of it").first.wait_for()
    assert axe.Axe().run(page).violations_count == 0
    assert page.faults == []


def test_measures_make_a_command_and_a_link(opened):
    page = opened("lamp/index.html")
    assert page.locator("#command").inner_text() == "foamwright fit lamp.yaml --size small --measure candle=50mm"
    page.fill("#measure-candle", "61.5")
    assert page.locator("#command").inner_text() == "foamwright fit lamp.yaml --size small --measure candle=61.5mm"
    with page.expect_request("https://example.org/ask**") as asked:
        page.click("text=Ask for a pack")
    query = parse_qs(urlsplit(asked.value.url).query)
    assert query == {"design": ["lamp"], "version": ["1.0.0"], "size": ["small"], "candle": ["61.5"]}
    page = opened("lamp/index.html")
    page.fill("#measure-candle", "400")  # the design allows 90
    page.click("text=Ask for a pack")
    assert page.evaluate("document.querySelector('#measure-candle').validity.rangeOverflow")
    assert page.url.endswith("lamp/index.html")


def test_without_script_everything_but_the_view_works(opened):
    page = opened("index.html", java_script_enabled=False)
    shown = page.locator(".card:visible")
    assert shown.count() == 4 and page.locator("#search").is_hidden()
    page.check("text=over 60 cm")
    assert shown.count() == 1
    page.click("text=Show all")
    assert shown.count() == 4
    page.click("text=Lamp")
    assert page.locator("#load").is_hidden() and page.locator(".noscript").is_visible()
    assert "--measure candle=50mm" in page.locator("#command").inner_text()
    with page.expect_download() as waiting:
        page.click("text=Everything in one archive")
    assert waiting.value.suggested_filename == "lamp-small.zip"
    with page.expect_request("https://example.org/ask**"):
        page.click("text=Ask for a pack")


def test_search_and_filters_count(opened):
    page = opened("index.html")
    page.fill("#search", "LAMP glows")
    assert page.locator("#count").inner_text() == "Designs: 1" and page.locator(".card:visible").count() == 1
    page.fill("#search", "nothing like it")
    assert page.locator("#none").is_visible()
    page.click("text=Show all")
    page.get_by_text("Designs: 4").wait_for()  # a form is cleared after the click
    page.check("text=over 60 cm")
    assert page.locator("#count").inner_text() == "Designs: 1"


def test_from_the_disk_only_the_view_is_missing(opened, site):
    page = opened((site / "lamp/index.html").as_uri())
    assert page.evaluate("getComputedStyle(document.querySelector('.skip')).position") == "absolute"
    page.fill("#measure-candle", "60")
    assert page.locator("#command").inner_text().endswith("candle=60mm")
    assert page.faults == []
    page.click("#load")
    page.get_by_text("open these pages through a server").wait_for()


def test_what_the_maker_says_of_himself_is_marked(opened):
    page = opened("lamp/index.html")
    link = page.locator("a", has_text="Foam & Co")
    assert link.get_attribute("rel") == "noopener sponsored"
    assert "paid link" in link.locator("..").inner_text()
    page.evaluate("document.querySelectorAll('details').forEach(d => d.open = true)")
    assert re.search(r"Put on the lid.*film at 2:05", page.locator("ol").inner_text())
