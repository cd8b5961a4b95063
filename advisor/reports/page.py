"""The frame of every HTML page: one file, no network, system fonts, nothing a stored text could run.

Whatever was typed or stored is escaped, and a policy in the page lets only its own script run, known by
its hash, so that even markup that slipped through would do nothing (W3C, Content Security Policy
Level 3, section 2.3.1).
"""

from __future__ import annotations

import base64
import hashlib
from html import escape
from pathlib import Path

from advisor.errors import BadInput

_STYLE = """
:root { color-scheme: light; }
* { box-sizing: border-box; }
body { font: 1.05rem/1.45 system-ui, sans-serif; margin: 0; padding: 1rem 1.5rem; color: #000;
  background: #fff; overflow-wrap: anywhere; }
h1 { font-size: 1.5rem; margin: 0 0 .25rem; } h2 { font-size: 1.15rem; margin: 0 0 .25rem; }
p { margin: .2rem 0; } .small { font-size: .85rem; color: #333; }
button { font: inherit; padding: .3rem .8rem; border: 2px solid #000; background: #fff; color: #000; }
:focus-visible { outline: 4px solid #0072b2; outline-offset: 2px; }
@page { margin: 12mm; }
@media print { body { padding: 0; font-size: 10.5pt; } .screen { display: none; } }
"""


def tag(name: str, text: str = "", **attributes: object) -> str:
    """One element with escaped text; ``class_`` is written ``class``, ``aria_label`` ``aria-label``."""
    return f"<{name}{_attributes(attributes)}>{escape(text)}</{name}>"


def wrap(name: str, *inner: str, **attributes: object) -> str:
    """One element around HTML that is already safe."""
    return f"<{name}{_attributes(attributes)}>{''.join(inner)}</{name}>"


def _attributes(held: dict[str, object]) -> str:
    named = ((key.rstrip("_").replace("_", "-"), value) for key, value in held.items() if value is not None)
    return "".join(f' {key}="{escape(str(value))}"' for key, value in named)


def page(title: str, body: str, *, style: str = "", script: str = "") -> str:
    """A whole page.

    Args:
        title: plain text, escaped here.
        body: HTML that is already safe.
        style: rules added to those of every page.
        script: the page's own script, which alone may run; without one nothing may.
    """
    return (
        f'<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">{policy(script)}'
        f"<title>{escape(title)}</title><style>{_STYLE}{style}</style></head>"
        f"<body>{body}{f'<script>{script}</script>' if script else ''}</body></html>\n"
    )


def policy(script: str = "") -> str:
    """The marks in a page's head that forbid every address and every script but its own, and let a narrow
    screen show it at full size.
    """
    allowed = "'none'"
    if script:
        digest = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
        allowed = f"'sha256-{digest}'"
    rule = f"default-src 'none'; style-src 'unsafe-inline'; script-src {allowed}; base-uri 'none'"
    return (
        f'<meta http-equiv="Content-Security-Policy" content="{rule}">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
    )


def write(file: str, text: str) -> None:
    """Write a page or table.

    Raises:
        BadInput: the file cannot be written; with the reason.
    """
    try:
        Path(file).write_text(text, encoding="utf-8", newline="")
    except OSError as trouble:
        raise BadInput(
            f"{file} cannot be written ({trouble.strerror})",
            value=file,
            right="give a file in a folder that exists and that you may write to",
        ) from None
