"""The report: one file, whole, offline, with the figures of the package."""

import json
import re

import pytest

from costmodel.case.fingerprint import fingerprint
from costmodel.core import whole_files
from costmodel.core.faults import InputFaults
from costmodel.documents import bundle, page
from costmodel.documents.bundle import SECTIONS, in_sections, write_bundle
from costmodel.documents.show import glued
from costmodel.model.evaluate import evaluate
from costmodel.present import cost_report, market_report, texts
from costmodel.present.charts import stack_values

from .cases import demo


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """The full report of the demo, and the blocks that it was made of, each made once for all tests."""
    blocks = {}

    def write_and_keep(made, path):
        blocks.update(made)
        write_bundle(made, path)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(bundle, "write_bundle", write_and_keep)
        path = page.write_report(demo(), tmp_path_factory.mktemp("report") / "facade.html", "2026-11-02")
    return path, blocks


@pytest.fixture(scope="module")
def report(made):
    return made[0]


def test_the_report_says_the_headline_fingerprint_version_date_and_cautions(report):
    from html import escape

    from costmodel import __version__

    text, case = report.read_text(encoding="utf-8"), demo()
    assert glued(cost_report.headline(case, evaluate(case))) in text
    assert glued(market_report.where_it_sells(case, evaluate(case))) in text
    for words in market_report.market_by_market(case, evaluate(case)):
        assert escape(glued(words)) in text
    assert fingerprint(case) in text
    assert f"Made on 2026-11-02 with costmodel {__version__}" in text
    for words in (*texts.CAUTIONS, *texts.CONVENTIONS):
        assert escape(glued(words)) in text


def test_every_row_of_inputs_stands_in_the_report_with_kind_and_source(report):
    text, case = report.read_text(encoding="utf-8"), demo()
    body = text[text.rindex("Inputs, each with its kind and source") :]
    assert body.count('<td class="text">invented</td>') == len(case.evidence)
    for name, tool in case.tools.items():
        assert f'<td class="text">price {tool.price:.9g} {tool.currency}; currency {tool.currency};' in body, name


def test_the_report_asks_nothing_of_the_network_and_bears_no_path(report):
    text = report.read_text(encoding="utf-8")
    outside = re.sub(r"<script>.*?</script>", "", text, flags=re.S)
    assert not re.findall(r'(?:src|href)="(?!#)[^"]+"', outside)
    assert "connect-src 'none'" in text
    assert str(report.parent) not in text
    assert "bundle_file" not in text


@pytest.mark.needs("chromium")
def test_the_report_draws_its_charts_in_a_browser_with_the_network_off(made, report, browser):
    charts = [block for block in made[1].values() if block.get("kind") == "chart"]
    tab = browser.new_page()
    tab.context.set_offline(True)
    troubles = []
    tab.on("console", lambda message: troubles.append(message.text))
    tab.on("pageerror", lambda error: troubles.append(str(error)))
    tab.on("request", lambda request: troubles.append(request.url) if request.url.startswith("http") else None)
    tab.goto(report.as_uri())
    tab.locator(f"html[data-ready='{len(charts)}']").wait_for(state="attached")
    drawn = tab.evaluate("[...document.querySelectorAll('.chart')][0].data.map(t => Array.from(t.x))")
    expected = [list(values.values()) for values in stack_values(evaluate(demo())).values()]
    assert troubles == []
    assert [row == pytest.approx(want, rel=1e-12) for row, want in zip(drawn, expected)] == [True] * len(expected)
    assert tab.evaluate("document.documentElement.scrollWidth <= innerWidth")
    tab.close()


def test_a_report_is_there_whole_or_not_at_all(tmp_path, monkeypatch):
    target = tmp_path / "report.html"
    whole_files.write_whole(target, b"the old one")
    old = target.read_bytes()
    monkeypatch.setattr(whole_files.os, "replace", lambda *_: (_ for _ in ()).throw(OSError("disk full")))
    with pytest.raises(OSError, match="disk full"):
        whole_files.write_whole(target, b"the new one")
    assert target.read_bytes() == old
    assert [path.name for path in tmp_path.iterdir()] == ["report.html"]


def test_blocks_are_plain_data_and_the_matrix_adds_up_as_printed(made):
    block = made[1]["matrix_m2"]
    assert json.loads(json.dumps(block))["rows"] == [list(row) for row in block["rows"]]
    *rows, total = block["rows"]
    printed = [sum(_as_number(row[i]) for row in rows) for i in range(1, len(total))]
    for shown, added in zip(total[1:], printed):
        assert _as_number(shown) == pytest.approx(added, abs=0.005 * len(rows))


def _as_number(shown: str) -> float:
    return float(shown.replace("−", "-"))  # a minus sign, as it is printed


def test_every_block_is_shown_in_one_section(made):
    blocks, shown = made[1], " ".join(SECTIONS.values()).split()
    assert len(shown) == len(set(shown))
    assert set(blocks) <= set(shown)
    assert set(shown) - set(blocks) == {"deal_rounds"}  # no folder, so no rounds
    bare = in_sections({"title": {"kind": "title", "text": "bare"}})
    assert [block["kind"] for block in bare[:4]] == ["title", "contents", "heading", "words"]


def test_charts_have_captions_and_contents_lead_to_each_section(made):
    path, blocks = made
    text, drawn = path.read_text(encoding="utf-8"), [block for block in blocks.values() if block["kind"] == "chart"]
    assert len(drawn) >= 17
    captions = re.findall(r"</div></div><figcaption>([^<]+)</figcaption></figure>", text)
    assert sorted(captions) == sorted(block["caption"] for block in drawn)  # the style sheet numbers them
    assert len(set(captions)) == len(captions)
    assert set(bundle.CAPTIONS) <= set(blocks)
    contents = re.search(r'<nav class="contents" aria-label="Contents">(.*?)</nav>', text)[1]
    assert re.findall(r'<a href="#[^"]+">([^<]+)</a>', contents) == [heading for heading in SECTIONS if heading]
    assert re.findall(r'href="#([^"]+)"', contents) == re.findall(r'<h2 id="([^"]+)"', text)


def test_a_case_with_faults_makes_no_report(tmp_path):
    from costmodel.model.scenarios import open_case

    with pytest.raises(InputFaults, match="no such folder"):
        open_case(tmp_path / "none")
