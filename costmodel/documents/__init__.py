"""What is handed out: reports, documents, external editions, and the workbook.

Decisions. The notebook of the full report (`briefing.ipynb`) is run by papermill on a file of finished blocks (`bundle.py`). It
computes nothing and never sees the case. The other kinds go further: `facts.py` collects what may be stated as plain data, part
by part; a kind (`kinds/`) is a function from such facts to blocks. One that stays inside names the parts that it needs;
proposal, term sheet and briefing get those of a release. What is for looking up stands in an annex, a file apart, so that a memo
has 4 pages and a proposal at most 6. Their pictures are SVG of our own: no script, whole in a PDF, 20 to 160 kB a page;
the full report keeps plotly, packed. A page says in its head what it is made of (inputs, version, kind); a PDF holds as long as
it is not older than its page. PDF is made by WeasyPrint from the same HTML: unlike Chromium it has running heads from the text and
contents with page numbers, gives the same bytes twice, and needs no browser. Chromium prints the full report alone, whose charts a
script draws, and makes PNG of pictures. Numbers of figures and tables are counted by the style sheet.
"""
