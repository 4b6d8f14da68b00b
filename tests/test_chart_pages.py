"""A chart that a command writes is a page: language, title, case, day, a sentence, plain names, readable on a narrow screen."""

import json
import re
from datetime import date

import pytest
from click.testing import CliRunner

from costmodel.command.main import main
from costmodel.present.palette import contrast_with_white

from .cases import Inputs


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    """The page of a sweep and of a waterfall of the tiny case."""
    out = tmp_path_factory.mktemp("charts")
    (out / "tiny").mkdir()
    folder = str(Inputs().write(out / "tiny"))
    commands = {
        "sweep": ["sweep", folder, "--vary", "prices.glass.price=2,4"],
        "waterfall": ["waterfall", folder, "--set", "prices.glass.price=9"],
    }
    pages = {}
    for name, command in commands.items():
        ran = CliRunner().invoke(main, [*command, "--chart", str(out / f"{name}.html")])
        assert ran.exit_code == 0, ran.output
        pages[name] = out / f"{name}.html"
    return pages


@pytest.mark.parametrize("name", ["sweep", "waterfall"])
def test_a_chart_is_a_page(written, name):
    html = written[name].read_text(encoding="utf-8")
    title = re.search(r"<h1[^>]*>(.*?)</h1>", html)[1]
    assert '<html lang="en">' in html
    assert f"<title>{title}: " in html
    assert "cost per stabilised watt [eur/w]" in title.lower()
    assert title[0].isupper()
    assert f"case “tiny” · {date.today().isoformat()}" in html
    assert re.search(r'role="img" aria-label="[^"]{40,}"', html)
    assert not re.findall(r'(?:src|href)="http', html)
    drawn = re.search(r'<script type="application/json">(.*?)</script>', html, re.S)[1]
    assert "prices.glass" not in json.dumps(json.loads(drawn)["data"])  # a name in plain words, not an address
    for colour in re.findall(r'"color": "(#[0-9a-fA-F]{6})", "size"', drawn):
        assert contrast_with_white(colour) >= 4.5


@pytest.mark.needs("chromium")
@pytest.mark.parametrize("wide", [390, 1280])
def test_a_chart_page_is_no_wider_than_the_screen(written, browser, wide):
    tab = browser.new_page(viewport={"width": wide, "height": 800})
    tab.goto(written["waterfall"].as_uri())
    tab.wait_for_function("document.documentElement.dataset.ready")
    assert tab.evaluate("document.documentElement.scrollWidth") <= wide
    assert tab.evaluate("document.querySelector('.chart svg').getBoundingClientRect().width") >= 600  # it scrolls
    tab.close()
