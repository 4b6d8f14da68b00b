"""What is handed out: reports, documents, external editions, and the workbook.

Decisions. The notebook of the full report (`briefing.ipynb`) is run by papermill on a file of finished blocks (`bundle.py`). It
computes nothing and never sees the case. The other kinds go further: `facts.py` collects what may be stated as plain data, part
by part; a kind (`kinds/`) is a function from such facts to blocks. One that stays inside names the parts that it needs;
proposal and briefing get those of a release. Their pictures are SVG of our own: no script, whole in a PDF, 20 to 160 kB a page;
the full report keeps plotly, packed. A page says in its head what it is made of (inputs, version, kind); a PDF holds as long as
it is not older than its page.
"""
