"""The job card."""

from __future__ import annotations

from html.parser import HTMLParser

from advisor.mixing.card import card_html, print_size


class Text(HTMLParser):
    """Collects tags and text."""

    def __init__(self) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.words = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)

    def handle_data(self, data: str) -> None:
        self.words += data


def test_card_escapes_what_it_is_given() -> None:
    """A step with markup in it is shown, not run."""
    page = Text()
    page.feed(card_html("T", steps=['<script>alert("x")</script>'], cautions=["a & b"]))
    assert "script" not in page.tags
    assert '<script>alert("x")</script>' in page.words
    assert "a & b" in page.words


def test_type_shrinks_with_the_text_and_stays_readable() -> None:
    """More text prints smaller, between 8 and 15 points."""
    sizes = [print_size(length) for length in (0, 1000, 3000, 6000, 100000)]
    assert sizes == sorted(sizes, reverse=True)
    assert (sizes[0], sizes[-1]) == (15.0, 8.0)
