"""The owner's page: the addresses of all feeds, to copy, to click or to scan.

Decided: a code holds the webcal address. Refused: https, which phones import once.
Held by tests/ways_out/test_share.py::test_another_reader_reads_the_webcal_address_off_each_code.
"""

from collections.abc import Iterable
from html import escape
from io import BytesIO

QR_BORDER = 4  # a quiet border of four cells is what ISO/IEC 18004 asks for

_STYLE = """
:root { color-scheme: light dark; }
body { font: 1rem/1.5 system-ui, sans-serif; max-width: 46rem; margin: 2rem auto;
  padding: 0 1rem; }
section { display: grid; grid-template-columns: 1fr auto; gap: 0 1.5rem; align-items: center;
  border-top: 1px solid; padding: 1rem 0; }
h2 { font-size: 1.1rem; margin: 0; grid-column: 1; }
p { margin: .3rem 0; overflow-wrap: anywhere; grid-column: 1; }
figure { margin: 0; grid-column: 2; grid-row: 1 / span 4; background: #fff; line-height: 0; }
figure svg { width: 11rem; height: 11rem; }
@media (max-width: 34rem) { section { display: block; } figure { width: 10rem; } }
@media print { section { break-inside: avoid; } }
"""


def page_bytes(feeds: Iterable[tuple[str, str]]) -> bytes:
    """The page, as one file that needs no other; the same feeds give the same bytes.

    Args:
        feeds: of each the title as phones show it, and its http or https address.
    """
    sections = "".join(_section(title, url) for title, url in feeds)
    return (
        '<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        '<meta name="robots" content="noindex">\n<meta name="referrer" content="no-referrer">\n'
        f"<title>Calendar addresses</title>\n<style>{_STYLE}</style>\n</head>\n<body>\n<main>\n"
        "<h1>Calendar addresses</h1>\n"
        "<p>Keep this page to yourself: whoever knows an address can read that calendar. Give "
        "each person only the address meant for them.</p>\n"
        "<p>Subscribe to an address in your calendar's settings; do not open or import the file, "
        "which would make a copy that never changes. The webcal link and the code ask a phone to "
        "subscribe. Changes may take a day to arrive: do not rely on them for tonight's "
        f"frost.</p>\n{sections}</main>\n</body>\n</html>\n"
    ).encode()


def _section(title: str, url: str) -> str:
    import segno

    webcal = f"webcal://{url.partition('://')[2]}"  # asks a phone to subscribe
    svg, link = BytesIO(), escape(webcal)
    code, name = segno.make_qr(webcal, error="m"), f"QR code to subscribe to {title}"
    code.save(svg, kind="svg", border=QR_BORDER, omitsize=True, xmldecl=False, title=name)
    figure = svg.getvalue().decode().strip().replace("<svg ", '<svg role="img" ', 1)
    return (
        f"<section>\n<h2>{escape(title)}</h2>\n"
        f"<p>Address: <code>{escape(url)}</code></p>\n"
        f'<p>Subscribe: <a href="{link}">{link}</a></p>\n'
        f"<figure>{figure}</figure>\n</section>\n"
    )
