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
    """More text prints smaller, between 6 and 16 points."""
    sizes = [print_size(["x" * 90] * count) for count in (0, 10, 20, 40, 400)]
    assert sizes == sorted(sizes, reverse=True)
    assert (sizes[0], sizes[-1]) == (16.0, 6.0)
