"""What people read: the trade's words, short sentences, one minus sign, SI units, tables that are whole on screens of any width."""

from __future__ import annotations

import json
import re
from collections import Counter

import pytest

from costmodel.command.screen import lay_out

from .all_words import all_words
from .cases import DEMO, ROOT
from .printed import WIDTHS, tables

LONGEST = 25  # words of a sentence
FOLDED = 24  # letters of a word that the narrowest column of a screen of 60 may not hold
OUT = (
    *("ask", "asks", "asked", "hang on", "hangs on", "tells", "told", "reckon", "reckoned", "leans", "leaning", "leanings"),
    *("fetch", "fetches", "fetched", "bear", "bears", "borne", "parted", "leap", "leaps", "wished", "astray", "sold for"),
    *("gone on with", "shuts out", "at its worst", "lean year", "is said of", "said to be", "the house", "held against"),
    *("be rid of", "can bear", "would like", "would rather", "as history", "looked at", "goes outside", "he will"),
    *("for each (?:watt|stabilised|module|plate|load|m²)", "a watt more", "a watt less", "dearest", "alike", "rather do"),
)
FIGURE = r"[+±−]?(?:\d(?:[\d,]*\d)?(?:\.\d+)?[¼½¾]?|[¼½¾])(?:\s?(?:million|%))?"
WORD = r"\w[\w'./²-]*"
UNIT = r"(?:\s(?:m²|W|MW|kW|kWh|EUR|USD|TWM|years?|days?|months?|min|s|h|nm|kg|t)\b(?:/[\w²]+)*)?"


def words_of(sentence):
    """How many words a reader takes in: a quoted title, a figure with its unit and its currency, an address count as one.

    What stands in brackets is beside the sentence. A colon opens a list, of which the longest item counts.
    """
    plain = re.sub(r"“[^”]*”", "title", sentence)
    plain = re.sub(r"\([^()]*\)", "", plain)
    plain = re.sub(rf"(?:[A-Z]{{3}} )?{FIGURE}{UNIT}", "figure", plain)
    head, *items = re.split(r": |; |, (?!and |or |which |as |so )", plain) if re.search(r": ", plain) else [plain]
    return len(re.findall(WORD, head)) + max((len(re.findall(WORD, item)) for item in items), default=0)


def sentences_of(paragraph):
    """The sentences of a paragraph."""
    return [each for each in re.split(r"(?<! v\.)(?<=[.!?])\s+(?=[A-Z“0-9])", paragraph) if each]


@pytest.fixture(scope="module", params=[pytest.param(name, marks=pytest.mark.slow) for name in ("facade", "field")])
def said(request):
    return all_words(request.param)


def headings(said):
    """Titles, column heads, names of rows and notes of all tables; titles, names and notes of all charts."""
    for table in said.tables:
        if table.style != "inputs":  # these hold what the case says, not what we say
            yield from (table.title, *table.columns, table.note)
            yield from (row[0] for row in table.rows)
    yield from drawn_words(said)


def drawn_words(said):
    """Titles of axes, names and notes of all charts."""
    for chart in said.charts:
        layout = chart["layout"]
        yield from (layout[axis].get("title", {}).get("text", "") for axis in ("xaxis", "yaxis"))
        yield from (note["text"] for note in layout.get("annotations", ()))
        yield from (trace.get("name", "") for trace in chart["data"])


def cells(said):
    """All cells of tables but those of inputs, which hold what people entered."""
    for table in said.tables:
        for row in table.rows if table.style != "inputs" else ():
            yield from row


def test_a_sentence_counts_as_a_reader_reads_it():
    assert words_of("The plan sells at EUR 2.37 per watt (EUR 133 per m²).") == 7
    assert words_of("The three most expensive steps are “one”, “two”: 38 % of the cost.") == 11
    assert sentences_of("It costs EUR 1.5 a year. “Two” costs more.") == ["It costs EUR 1.5 a year.", "“Two” costs more."]


def test_no_word_that_is_out(said):
    out = re.compile(rf"(?<![\w-])({'|'.join(OUT)})(?![\w-])", re.I)
    read = [(text, re.sub(r"“[^”]*”", "", text)) for text in (*said.sentences, *headings(said))]
    found = {(match[0], text) for text, plain in read for match in out.finditer(plain)}
    assert found == set()


def test_a_sentence_has_at_most_25_words(said):
    found = {(words_of(each), each) for paragraph in said.sentences for each in sentences_of(paragraph)}
    assert {each for each in found if each[0] > LONGEST} == set()


def test_every_subject_answers_in_sentences(said):
    assert [names for names, made in said.views.items() if not any(view.sentences for view in made)] == []


def test_no_sentence_has_an_address(said):
    """Sentences, titles and charts name inputs and figures in plain words; addresses stand in cells of tables."""
    stage = r"(?:prices|plan|deal|ledger|line|market)\.(?!yaml|csv)[a-z]\w+"
    address = re.compile(rf"(?<![\w.“`])(?:[a-z]\w*(?:\.[a-z]\w*){{2,}}|{stage})")
    titles = (text for table in said.tables for text in (table.title, table.note))
    read = (*said.sentences, *titles, *drawn_words(said))
    found = {(match[0], text) for text in read for match in address.finditer(text)}
    assert found == set()


def test_one_minus_sign_and_units_as_si_writes_them(said):
    for text in (*said.sentences, *headings(said), *cells(said)):
        assert not re.search(r"(?<![\w.\-–])-\d", re.sub(r"\d{4}-\d\d-\d\d", "", text)), text
        assert not re.search(r"(?<!\w)(m2|m3|cm2|CO2|kWh/m2|nm\*m)(?!\w)", re.sub(r"\S*_\S*", "", text)), text
        assert not re.search(r"(?<!\w)-?0\.0+(?![\d])", text), text


def test_every_table_is_whole_and_has_one_sign_for_what_does_not_apply(said):
    for table in said.tables:
        assert {len(row) for row in table.rows} == {len(table.columns)}, table.title
    assert not {"nan", "None", "n/a", "-", "—"} & set(cells(said))


def test_every_table_is_printed_for_programs_with_all_its_cells(said):
    for table in said.tables:
        heads = ["row", *(head or "value" for head in table.columns[1:])]
        assert len(set(heads)) == len(heads), table.title  # so that no cell hides another in JSON


@pytest.mark.slow
@pytest.mark.parametrize("width", WIDTHS)
def test_no_line_is_wider_than_the_screen_and_every_row_and_cell_is_there(width):
    assert len(tables(DEMO)) > 50
    for table in tables(DEMO):
        lines = lay_out(table, width)
        assert max(map(len, lines)) <= width, table.title
        for row in table.rows:
            for column, cell in enumerate(row):
                if column not in table.texts:  # a number stands whole on one line
                    assert any(cell in each for each in lines), (table.title, row[0], cell)


def short_words(texts):
    """The words of texts, counted, but for those that a narrow screen folds."""
    return Counter(word.rstrip(":") for text in texts for word in text.split() if len(word) <= FOLDED)


@pytest.mark.slow
@pytest.mark.parametrize("width", WIDTHS)
def test_no_name_of_a_row_and_no_word_vanishes(width):
    for table in tables(DEMO):
        shown = short_words(lay_out(table, width))
        assert short_words(cell for row in table.rows for cell in row) <= shown, table.title
        assert short_words(table.columns) <= shown, table.title


def written_pages():
    """What stands in the readme, the written pages of the guide and the texts of notebooks: paragraphs and cells of tables."""
    files = [ROOT / "README.md", *sorted((ROOT / "costmodel" / "documents" / "guide").glob("*.md"))]
    pages = [path.read_text(encoding="utf-8") for path in files]
    for path in sorted((ROOT / "notebooks").glob("*.ipynb")):
        cells = json.loads(path.read_text(encoding="utf-8"))["cells"]
        pages += ["".join(cell["source"]) for cell in cells if cell["cell_type"] == "markdown"]
    for page in pages:
        for block in re.split(r"\n\s*\n|\n(?=[|#-])", re.sub(r"```.*?```", "", page, flags=re.S)):
            if not block.startswith("    "):
                plain = re.sub(r"`[^`]*`", "name", re.sub(r"!?\[([^\]]*)\]\([^)]*\)", r"\1", block))
                yield from (" ".join(part.split()) for part in (re.split(r"[|;]", plain) if block.startswith("|") else [plain]))


def test_written_pages_use_the_words_and_short_sentences():
    out = re.compile(rf"(?<![\w-])({'|'.join(OUT)})(?![\w-])", re.I)
    pages = list(written_pages())
    assert len(pages) > 300
    assert {(match[0], text) for text in pages for match in out.finditer(text)} == set()
    long = {(words_of(each), each) for text in pages for each in sentences_of(text) if words_of(each) > LONGEST}
    assert long == set()
