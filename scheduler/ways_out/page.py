"""The owner's page: the addresses of all feeds, to copy, to click or to scan."""

from collections.abc import Sequence
from dataclasses import dataclass
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


@dataclass(frozen=True, slots=True)
class Entry:
    """One feed and the address it can be read at.

    Args:
        title: as phones show it.
        url: its http or https address.
    """

    title: str
    url: str

    @property
    def subscribe_url(self) -> str:
        """The same address in the form that asks a phone to subscribe."""
        return f"webcal://{self.url.partition('://')[2]}"


def page_bytes(entries: Sequence[Entry]) -> bytes:
    """The page, as one file that needs no other; the same entries give the same bytes."""
    sections = "".join(map(_section, entries))
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


def _section(entry: Entry) -> str:
    url, webcal = escape(entry.url), escape(entry.subscribe_url)
    return (
        f"<section>\n<h2>{escape(entry.title)}</h2>\n"
        f"<p>Address: <code>{url}</code></p>\n"
        f'<p>Subscribe: <a href="{webcal}">{webcal}</a></p>\n'
        f"<figure>{_qr_svg(entry)}</figure>\n</section>\n"
    )


def _qr_svg(entry: Entry) -> str:
    import segno

    out = BytesIO()
    code = segno.make_qr(entry.subscribe_url, error="m")
    title = f"QR code to subscribe to {entry.title}"
    code.save(out, kind="svg", border=QR_BORDER, omitsize=True, xmldecl=False, title=title)
    return out.getvalue().decode().strip().replace("<svg ", '<svg role="img" ', 1)
