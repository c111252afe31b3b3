"""The web page in a real browser, as wide as a phone: nothing runs out at the side, no error, ticks are remembered.

Run where Chromium is installed; skipped elsewhere. What is measured is what the browser lays out (CSSOM View Module:
`scrollWidth`) and what it loads (Resource Timing).
"""

import json
import re
import shutil
import subprocess
from html import escape, unescape

import pytest
from sample_prop import INFO, pictures, sample
from test_order import order

from foamwright.booklet.pages.web import web_page

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
PHONE = 390  # CSS pixels across, as common phones have
NARROW = 320  # the width at which WCAG 2.2, success criterion 1.4.10, asks that nothing need be scrolled sideways
HARNESS = """<!DOCTYPE html><meta charset="utf-8"><iframe id="phone" width="%d" height="800" style="border:0"></iframe>
<pre id="told"></pre><script>
const page=%s,phone=document.getElementById('phone'),told=window.told={errors:[]};
const listen="<script>window.addEventListener('error',e=>parent.told.errors.push(e.message));<\\/script>";
function load(){return new Promise(r=>{phone.onload=r;phone.srcdoc=page.replace('<head>','<head>'+listen)})}
(async()=>{
 await load();let d=phone.contentDocument;
 told.width=d.documentElement.scrollWidth;
 told.wide=[...d.querySelectorAll('body *')].filter(e=>e.getBoundingClientRect().right>%d&&!e.closest('.wide'))
  .map(e=>e.tagName);
 told.broken=[...d.images].filter(i=>!i.complete||!i.naturalWidth).length;told.images=d.images.length;
 told.loaded=phone.contentWindow.performance.getEntriesByType('resource').map(e=>e.name)
  .filter(n=>!n.startsWith('data:'));
 told.small=[...d.querySelectorAll('label')].filter(e=>e.getBoundingClientRect().height<44).length;
 const box=d.querySelector('input');told.before=box.checked;box.click();
 await load();d=phone.contentDocument;
 told.after=d.querySelector('input').checked;told.other=d.querySelectorAll('input')[1].checked;
 told.greyed=d.querySelector('article').classList.contains('done');
 document.getElementById('told').textContent=JSON.stringify(told);
})()</script>"""


def shown(page, folder, width=PHONE):
    """What the browser says of `page` on a phone `width` CSS pixels across."""
    source = json.dumps(page).replace("</", "<\\/")
    (folder / "harness.html").write_text(HARNESS % (width, source, width), "utf-8")
    command = [CHROMIUM, "--headless=new", "--no-sandbox", "--disable-gpu", f"--user-data-dir={folder / 'profile'}"]
    command += ["--virtual-time-budget=20000", "--dump-dom", (folder / "harness.html").as_uri()]
    dom = subprocess.run(command, capture_output=True, text=True, timeout=400, check=True).stdout
    told = re.search(r'<pre id="told">(.*?)</pre>', dom, re.DOTALL)
    assert told and told[1], dom[-2000:]
    return json.loads(unescape(told[1]))


@pytest.mark.skipif(CHROMIUM is None, reason="Chromium is not installed")
@pytest.mark.parametrize("width", [PHONE, NARROW])
def test_on_a_phone(tmp_path, width):
    prop, patterns = sample()
    steps = order(prop, patterns)
    page = web_page(prop, patterns, steps, pictures(steps), INFO).decode()
    told = shown(page, tmp_path, width)
    assert told["errors"] == [] and told["loaded"] == [] and told["broken"] == 0
    assert told["images"] >= len(prop.pieces)
    assert told["width"] <= width and told["wide"] == []
    assert told["small"] == 0  # 44 px: the least target of WCAG 2.2, success criterion 2.5.5
    assert (told["before"], told["after"], told["other"], told["greyed"]) == (False, True, False, True)


@pytest.mark.skipif(CHROMIUM is None, reason="Chromium is not installed")
def test_what_is_too_wide_is_seen(tmp_path):
    """The check itself: a page that runs out at the side, and one with a fault, are found out."""
    wide = f"<!DOCTYPE html><html><head></head><body><article><input><p style='width:900px'>{escape('x')}</p></article>"
    told = shown(wide + "<input><script>fault()</script></body></html>", tmp_path)
    assert told["width"] > PHONE and told["wide"] and told["errors"]
