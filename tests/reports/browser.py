"""A headless browser for tests, where there is one."""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path

CHROMIUM = shutil.which("chromium")
FLAGS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--hide-scrollbars",
]


def run(folder: Path, page: str, *more: str) -> str:
    """Load a page in a browser of its own and return the document it made of it."""
    file = folder / "page.html"
    file.write_text(page, encoding="utf-8")
    call = [str(CHROMIUM), *FLAGS, f"--user-data-dir={folder / 'profile'}", "--dump-dom", *more]
    done = subprocess.run([*call, file.as_uri()], capture_output=True, text=True, timeout=60, check=True)
    return done.stdout


def with_script(page: str, script: str) -> str:
    """The page with a test's own script at its end, which its policy would not let run."""
    free = re.sub(r'<meta http-equiv="Content-Security-Policy"[^>]*>', "", page)
    return free.replace("</body>", f"<script>{script}</script></body>")


def pdf_pages(folder: Path, page: str) -> int:
    """Sheets that the page takes when it is printed."""
    out = folder / "printed.pdf"
    run(folder, page, f"--print-to-pdf={out}", "--no-pdf-header-footer")
    return len(re.findall(rb"/Type\s*/Page\b(?!s)", out.read_bytes()))
