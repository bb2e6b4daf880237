"""A page in a real browser: what it holds, what it asks for, what it prints. One browser serves all tests of a file."""
import base64
import json
import os
import pathlib
import re
import subprocess
import tempfile
import unittest

from selenium import webdriver
from selenium.webdriver.chrome.options import Options
from selenium.webdriver.chrome.service import Service

BUILD = pathlib.Path(os.environ["CANALRULE_BUILD"])
AXE = BUILD / "browser" / "node_modules" / "axe-core" / "axe.min.js"
A4_WIDTH = 595.3  # points

# Before printing, every cell of a table and both ends of every picture get a mark that can be found in the PDF; and
# short cells lose what a browser does anyway (no line alone on a sheet), so that the page's own rules must hold.
MARK = """
const loose = document.createElement('style');
loose.textContent = 'td, th { orphans: 1; widows: 1; }';
document.head.append(loose);
let rows = 0, pictures = 0;
const mark = text => { const span = document.createElement('span'); span.textContent = ' ' + text;
  span.style.cssText = 'font-size:5px;white-space:nowrap'; return span; };
for (const row of document.querySelectorAll('tr')) {
  for (const cell of row.cells) { cell.prepend(mark('zr' + rows + 'z')); cell.append(mark('zr' + rows + 'z')); }
  rows += 1;
}
for (const picture of document.querySelectorAll('svg')) {
  const box = picture.viewBox.baseVal;
  for (const y of [6, box.height - 1]) {
    const text = document.createElementNS('http://www.w3.org/2000/svg', 'text');
    text.textContent = 'zp' + pictures + 'z';
    for (const [name, value] of [['x', 1], ['y', y], ['font-size', 5]]) text.setAttribute(name, value);
    picture.append(text);
  }
  pictures += 1;
}
return [rows, pictures];
"""


class Pages(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        if not AXE.is_file():
            raise AssertionError(f"{AXE} is missing: tests/run installs it (npm ci of tests/browser/package.json)")
        held = tempfile.TemporaryDirectory()
        cls.addClassCleanup(held.cleanup)
        cls.folder = pathlib.Path(held.name)
        options = Options()
        for argument in ("--headless=new", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage",
                         "--no-first-run", "--disable-background-networking", "--disable-component-update",
                         f"--user-data-dir={cls.folder / 'profile'}"):
            options.add_argument(argument)
        options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
        cls.browser = webdriver.Chrome(service=Service("/usr/bin/chromedriver"), options=options)
        cls.addClassCleanup(cls.browser.quit)

    def open(self, file, width=1100):
        """Shows a page at so many CSS pixels; what it logged and asked for while it loaded is kept."""
        for kind in ("browser", "performance"):
            self.browser.get_log(kind)
        self.browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride",
                                     {"width": width, "height": 900, "deviceScaleFactor": 1, "mobile": False})
        self.browser.get(pathlib.Path(file).as_uri())
        self.said = [entry["message"] for entry in self.browser.get_log("browser")]
        messages = [json.loads(entry["message"])["message"] for entry in self.browser.get_log("performance")]
        self.requested = [message["params"]["request"]["url"] for message in messages
                          if message["method"] == "Network.requestWillBeSent"]

    def script(self, text, *arguments):
        return self.browser.execute_script(text, *arguments)

    def check_quiet(self, file):
        """No word on the console, no script, and nothing asked for but the page itself."""
        self.open(file)
        self.assertEqual(self.said, [])
        self.assertEqual([url for url in self.requested if not url.startswith("data:")],
                         [pathlib.Path(file).as_uri()])
        self.assertEqual(self.script("return document.scripts.length"), 0)
        self.assertEqual(self.script("return performance.getEntriesByType('resource').length"), 0)

    def check_accessible(self, file, width):
        """axe-core finds nothing serious or critical."""
        self.open(file, width)
        self.script(AXE.read_text(encoding="utf-8"))
        found = self.browser.execute_async_script(
            "const done = arguments[arguments.length - 1];"
            "axe.run(document, {resultTypes: ['violations']}).then(done, error => done({error: String(error)}));")
        self.assertNotIn("error", found)
        self.assertGreater(len(found["passes"]), 10)  # it did look
        grave = [(rule["id"], [node["html"][:200] for node in rule["nodes"][:3]]) for rule in found["violations"]
                 if rule["impact"] in ("serious", "critical")]
        self.assertEqual(grave, [])

    def check_no_sideways_scrolling(self, file, width):
        self.open(file, width)
        self.assertLessEqual(self.script("return document.documentElement.scrollWidth"), width)

    def check_charts(self, file, least):
        """Each picture says what it is and is drawn; each chart has its numbers in a table, unless it has none."""
        self.open(file)
        pictures = self.script("""return [...document.querySelectorAll('svg')].map(svg => {
            const ids = svg.getAttribute('aria-labelledby').split(' ');
            const figure = svg.closest('figure');
            return {role: svg.getAttribute('role'), names: ids.map(id => document.getElementById(id).textContent),
                    width: svg.getBoundingClientRect().width, caption: figure.querySelector('figcaption')?.textContent,
                    chart: figure.classList.contains('chart'), nothing: !!svg.querySelector('[id$=nothing]'),
                    rows: figure.querySelectorAll('tbody tr').length}; })""")
        self.assertGreaterEqual(len(pictures), least)
        for picture in pictures:
            self.assertEqual(picture["role"], "img", picture)
            self.assertEqual(len(picture["names"]), 2, picture)
            for name in picture["names"]:
                self.assertGreater(len(name), 3, picture)
            self.assertGreater(picture["width"], 100, picture)
            if picture["chart"]:
                self.assertTrue(picture["caption"], picture)
                self.assertEqual(picture["rows"] == 0, picture["nothing"], picture)
        return pictures

    def printed(self, file):
        """The page as Chromium prints it on A4: the words of every sheet, with their places in points."""
        printed = self.browser.execute_cdp_cmd("Page.printToPDF", {"preferCSSPageSize": True})
        pdf = self.folder / (pathlib.Path(file).stem + ".pdf")
        pdf.write_bytes(base64.b64decode(printed["data"]))
        done = subprocess.run(["pdftotext", "-bbox", pdf, "-"], capture_output=True, encoding="utf-8", check=True)
        sheets = []
        for sheet in done.stdout.split("<page ")[1:]:
            words = re.findall(r'<word xMin="([\d.-]+)" yMin="([\d.-]+)" xMax="([\d.-]+)" yMax="([\d.-]+)">(.*?)</word>',
                               sheet)
            size = tuple(float(x) for x in re.match(r'width="([\d.]+)" height="([\d.]+)"', sheet).groups())
            sheets.append((size, [(tuple(float(x) for x in word[:4]), word[4]) for word in words]))
        return sheets

    def check_prints_whole(self, file):
        """No row of a table and no picture is parted by the end of a sheet, nor cut at its side."""
        self.open(file)
        rows, pictures = self.script(MARK)
        where = {}
        for number, (size, words) in enumerate(self.printed(file)):
            self.assertAlmostEqual(min(size), A4_WIDTH, delta=1.0)
            for (left, top, right, bottom), word in words:
                for mark in re.findall(r"z[rp]\d+z", word):
                    where.setdefault(mark, set()).add(number)
                self.assertGreaterEqual(left, 0.0, word)
                self.assertLessEqual(right, size[0] - 20.0, word)
                self.assertLessEqual(bottom, size[1], word)
                self.assertGreaterEqual(top, 0.0, word)
        for kind, count in (("r", rows), ("p", pictures)):
            self.assertGreater(count, 0)
            for number in range(count):
                sheets = where.get(f"z{kind}{number}z", set())
                # A table's head stands on every sheet that the table goes on to.
                head = kind == "r" and self.script(
                    "return document.querySelectorAll('tr')[arguments[0]].parentNode.tagName === 'THEAD'", number)
                self.assertTrue(len(sheets) == 1 or (head and sheets), f"{kind}{number}: sheets {sorted(sheets)}")
