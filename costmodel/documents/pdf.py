"""Documents as PDF, and their pictures as SVG and PNG for slides; what a script draws is printed by a Chromium that is there."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import tempfile
from pathlib import Path

from ..core.whole_files import write_whole

NAMES = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "microsoft-edge")
HOW_TO_GET_PDF = (
    f"No Chromium was found (looked for {', '.join(NAMES)}), so this was not made. Install one, as with `apt-get install "
    "chromium`, and run the same command again; or open the HTML file in a browser and print it to a PDF file."
)
HOW_TO_GET_PANGO = "install Pango, as with `apt-get install libpango-1.0-0 libpangoft2-1.0-0`, and run the same command again"
FAMILY = "Source Sans 3"  # as style.css and pictures have it
PATIENCE = 120.0  # s
ENTRY, MOST_DIGITS = r'(<li><a href="#part-\d+">[^<]*)(</a></li>)', 888  # of the contents; a number as wide as any page's
SHARPER = 2  # pixels of a PNG for each of the picture


class NoChromium(Exception):
    """There is no Chromium on this machine."""


def chromium() -> str:
    """The path of a Chromium. Raises NoChromium."""
    found = next((path for name in NAMES if (path := shutil.which(name))), None)
    if found is None:
        raise NoChromium(HOW_TO_GET_PDF)
    return found


def _run(options: list[str], folder: str, page: Path) -> None:
    """Run Chromium on a page without a window, with a profile of its own and nothing of the network."""
    sandbox = ["--no-sandbox"] if os.name == "posix" and os.geteuid() == 0 else []
    quiet = ["--headless", "--disable-gpu", "--no-first-run", "--disable-background-networking", "--disable-extensions"]
    off = ["--proxy-server=127.0.0.1:9", f"--user-data-dir={folder}/profile"]
    command = [chromium(), *quiet, *sandbox, *off, *options, page.resolve().as_uri()]
    try:
        done = subprocess.run(command, capture_output=True, timeout=PATIENCE, text=True)
    except subprocess.TimeoutExpired:
        raise OSError(f"Chromium had not ended after {PATIENCE:g} s") from None
    if done.returncode:
        raise OSError(f"Chromium ended with {done.returncode}: {done.stderr.strip()[-300:]}")


def write_pdf(html: Path, pdf: Path) -> Path:
    """Make a PDF of an HTML file of ours, whole or not at all: the same bytes for the same file, and its font inside.

    The full report, whose charts are drawn by a script, is printed by a Chromium. Raises NoChromium, OSError.
    """
    is_drawn = 'id="packed"' in html.read_text(encoding="utf-8")
    write_whole(pdf, _printed(html) if is_drawn else _set(html))
    return pdf


def _printed(html: Path) -> bytes:
    """A page with a script as a PDF with bookmarks, by a Chromium: a second time with the pages of its parts in the contents."""
    with tempfile.TemporaryDirectory() as folder:
        text, page = html.read_text(encoding="utf-8"), Path(folder) / html.name
        page.write_text(with_pages(text, [MOST_DIGITS] * len(re.findall(ENTRY, text))), encoding="utf-8")
        page.write_text(with_pages(text, pages_of_parts(_by_chromium(page, folder))), encoding="utf-8")
        return _by_chromium(page, folder)


def _by_chromium(html: Path, folder: str) -> bytes:
    """A page as a Chromium prints it."""
    made = Path(folder) / "made.pdf"
    made.unlink(missing_ok=True)
    options = ["--no-pdf-header-footer", "--generate-pdf-document-outline", "--virtual-time-budget=20000"]
    _run([f"--print-to-pdf={made}", *options], folder, html)
    if not made.exists():
        raise OSError(f"Chromium made no PDF of {html}")
    return made.read_bytes()


def pages_of_parts(pdf: bytes) -> list[int]:
    """The page on which each part begins, by the bookmarks of a PDF of Chromium that have none below them.

    >>> pages_of_parts(b"2 0 obj\\n<</Type /Page\\n>> 7 0 obj\\n<</Title (Why)\\n/Dest [2 0 R /XYZ 45 70 0]\\n>>\\nendobj")
    [1]
    """
    pages = [int(number) for number in re.findall(rb"(\d+) 0 obj\s*<<[^<>]*?/Type /Page\b", pdf)]
    marks = re.findall(rb"\d+ 0 obj\s*<</Title (?:\([^\n]*\)|<[^>]*>)\s*/Dest \[(\d+) 0 R[^\]]*\](.*?)endobj", pdf, re.DOTALL)
    return [1 + pages.index(int(page)) for page, rest in marks if b"/First" not in rest and int(page) in pages]


def with_pages(html: str, pages: list[int]) -> str:
    """The same page with the number of the page behind each entry of its contents; as it is where they do not match.

    >>> with_pages('<li><a href="#part-1">Why</a></li>', [3])
    '<li><a href="#part-1">Why<span class="page">3</span></a></li>'
    """
    if len(re.findall(ENTRY, html)) != len(pages):
        return html
    found = iter(pages)
    return re.sub(ENTRY, lambda match: f'{match[1]}<span class="page">{next(found)}</span>{match[2]}', html)


def _set(html: Path) -> bytes:
    """A page without scripts as a PDF with running heads, contents and bookmarks, which needs no browser."""
    try:
        from weasyprint import CSS, HTML
        from weasyprint.text.fonts import FontConfiguration
        from weasyprint.urls import URLFetcher
    except OSError as missing:  # it loads Pango, which is a library of the system
        raise OSError(f"the libraries for PDF are not on this machine ({missing}); {HOW_TO_GET_PANGO}") from None
    fonts, fetcher = FontConfiguration(), URLFetcher(allowed_protocols=["file"])
    faces = CSS(string=_faces(), font_config=fonts, url_fetcher=fetcher)
    page = HTML(filename=str(html), url_fetcher=fetcher)
    return page.write_pdf(stylesheets=[faces], font_config=fonts, pdf_tags=True)


def _faces() -> str:
    """The font of documents, from the package that brings it, so that a PDF is the same on every machine."""
    import font_source_sans_pro as found

    files = {400: found.SourceSansPro, 600: found.SourceSansProSemibold}
    return "".join(
        f"@font-face {{ font-family: '{FAMILY}'; font-weight: {weight}; src: url({Path(file).as_uri()}); }}"
        for weight, file in files.items()
    )


def pictures_of(html: Path) -> dict[str, str]:
    """The pictures of a document by name, as SVG."""
    figure = r'<figure class="picture" data-name="(\w+)"><div [^>]*>(<svg.*?</svg>)</div>'
    return dict(re.findall(figure, html.read_text(encoding="utf-8"), re.S))


def write_pictures(html: Path, folder: Path) -> list[Path]:
    """Write the pictures of a document as SVG, and as PNG where there is a Chromium; the paths. Raises NoChromium after the SVG."""
    found = {name: (folder / f"{name}.svg", svg) for name, svg in pictures_of(html).items()}
    for path, svg in found.values():
        write_whole(path, svg.encode())
    chromium()
    for path, svg in found.values():
        (width, height), *_ = re.findall(r'viewBox="0 0 (\d+) (\d+)"', svg)
        with tempfile.TemporaryDirectory() as work:
            shot = Path(work) / "shot.png"
            _run([f"--screenshot={shot}", f"--window-size={width},{height}", f"--force-device-scale-factor={SHARPER}",
                  "--hide-scrollbars"], work, path)  # fmt: skip
            write_whole(path.with_suffix(".png"), shot.read_bytes())
    return sorted(folder.iterdir())
