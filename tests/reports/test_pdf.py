"""Cards, signs and the handbook as PDF, read back by another library."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from pypdf import PdfReader

from advisor.errors import BadInput
from advisor.knowledge.rulebase import RuleBase
from advisor.logbook.store import SqliteStore
from advisor.mixing.display import METRIC, US
from advisor.mixing.plan import plan
from advisor.reports.cards import SIGN_CAUTIONS, job_card, sump_sign
from advisor.reports.cases import open_case
from advisor.reports.handbook_pdf import write_handbook
from advisor.reports.pdf import plain, write_pdf
from advisor.reports.sheet import Part, Sheet, write_sheet

NOON = "2025-03-04T12:00:00Z"
FOUL = (("rotten eggs in a closed room", {"smell": "rotten_egg", "hazard_context": "no_ventilation"}),)
RICH = {"strength": 0.13, "sump_volume_l": 190.0, "fill": 1.0, "target": 0.07, "pail_l": 20.0}
HOSTILE = '<b>Mill</b> &amp; <a href="http://x.test/">here</a> <img src="/etc/passwd"/>'
SUMP = {"id": "m", "name": HOSTILE, "figures": {"sump_volume": 190.0, "target": [0.05, 0.08]}}


def words(file: Path) -> str:
    """All text of a PDF, its spaces evened out."""
    return " ".join(" ".join(page.extract_text() for page in PdfReader(file).pages).split())


def written(tmp_path: Path, sheet: Sheet) -> Path:
    """The sheet as a PDF."""
    write_sheet(str(tmp_path / "sheet.pdf"), sheet)
    return tmp_path / "sheet.pdf"


def test_job_card_is_one_page_with_cautions_first(
    tmp_path: Path, store: SqliteStore, save: Callable[..., int]
) -> None:
    """Caution, what to do, every step of the recipe and the line for the recheck stand on one page."""
    case = save(FOUL)
    made = plan("thin", RICH, METRIC).as_json()
    store.append(case, "recipe", {"recipe": made, "action": None}, time=NOON, who="op")
    file = written(tmp_path, job_card(open_case(store, case)))
    told = words(file)
    assert len(PdfReader(file).pages) == 1
    assert told.index("STOP. Foul fluid") < told.index("Do, in this order") < told.index("Recipe:")
    assert [step for step in made["options"][0]["steps"] if plain(step) not in told] == []
    assert "Initials:" in told


def test_a_hostile_name_is_text_in_a_pdf(tmp_path: Path) -> None:
    """Markup in a name is printed as typed: no link, no picture, no script comes of it."""
    file = written(tmp_path, sump_sign(SUMP, None, METRIC))
    reader = PdfReader(file)
    assert HOSTILE.replace(" ", "") in words(file).replace(" ", "")
    assert all("/Annots" not in page and not page.images for page in reader.pages)
    assert "/OpenAction" not in reader.trailer["/Root"]


def test_signs_and_letters_are_in_the_file_itself(tmp_path: Path) -> None:
    """Signs of measure and letters of other languages come back; what no font has is a question mark."""
    text = "≥ 5 °C × 2 – 3 µm, ½, Öl, řezání, Фреза"
    file = written(tmp_path, Sheet("t", (Part("text", text), Part("text", "a → b, 冷"))))
    assert text in words(file)
    assert "a -> b, ?" in words(file)
    fonts = [f.get_object() for f in PdfReader(file).pages[0]["/Resources"]["/Font"].values()]
    embedded = [f for f in fonts if "/FontFile2" in f.get("/FontDescriptor", {})]
    assert embedded


def test_sign_uses_the_paper_of_its_country(tmp_path: Path) -> None:
    """A sign in US units is on letter paper, another on A4 (ISO 216), each on one page, cautions whole."""
    for show, wide in ((US, 612), (METRIC, 595)):
        file = written(tmp_path, sump_sign(SUMP, None, show))
        (page,) = PdfReader(file).pages
        assert int(page.mediabox.width) == wide
        assert [text for text in SIGN_CAUTIONS if text not in words(file)] == []


def test_type_shrinks_until_the_page_holds_it(tmp_path: Path) -> None:
    """Eighty long steps still fit one page; a thousand are refused with what to do instead."""
    steps = [f"Step {i}: " + "stir the pail and pour it in slowly, " * 2 for i in range(1000)]
    file = written(tmp_path, Sheet("t", (Part("ticks", "Do", tuple(steps[:80])),)))
    assert len(PdfReader(file).pages) == 1
    assert "Step 79" in words(file)
    with pytest.raises(BadInput, match="more than one page"):
        write_pdf(str(tmp_path / "x.pdf"), Sheet("t", (Part("ticks", "Do", tuple(steps)),)))


def test_a_folder_that_is_not_there_is_told(tmp_path: Path) -> None:
    """The sentence says what would be right."""
    with pytest.raises(BadInput, match="folder that exists"):
        written(tmp_path / "none", Sheet("t", (Part("text", "x"),)))


def test_handbook_holds_every_entry_and_its_sources(tmp_path: Path, rules: RuleBase) -> None:
    """Every cause with what it means, every caution, and the list of sources; the outline leads there."""
    write_handbook(str(tmp_path / "book.pdf"), rules)
    reader = PdfReader(tmp_path / "book.pdf")
    told = words(tmp_path / "book.pdf").replace(" ", "")
    means = [c.text["means"] for c in rules.causes.values()] + [c["text"] for c in rules.cautions.values()]
    assert [text for text in means if plain(text).replace(" ", "") not in told] == []
    titles = [row.title for row in reader.outline if not isinstance(row, list)]
    assert titles == ["Cautions", "Causes", "Actions", "Questions and readings", "Sources"]
    assert "/URI" not in str(reader.trailer["/Root"])
