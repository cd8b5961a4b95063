"""Readings of a sump as a PNG picture, where matplotlib is installed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from advisor.errors import BadInput


@dataclass(frozen=True, slots=True)
class Panel:
    """One figure over time: points, limits (None where open), and marked events as (time, letter)."""

    title: str
    times: Sequence[datetime]
    values: Sequence[float]
    limits: Sequence[float | None]
    events: Sequence[tuple[datetime, str]]


def draw(panels: Sequence[Panel], file: Path) -> None:
    """Draw panels below each other into a PNG file.

    Raises:
        BadInput: matplotlib is not installed, or the file cannot be written.
    """
    try:
        from matplotlib.figure import Figure
    except ImportError:
        right = "Install matplotlib, or use --svg, which needs nothing."
        raise BadInput("a PNG picture needs matplotlib, which is not installed", right=right) from None
    figure = Figure(figsize=(8, 2.6 * len(panels)), layout="constrained")
    grid = figure.subplots(len(panels), 1, squeeze=False)
    for axes, panel in zip(grid[:, 0], panels, strict=True):
        axes.plot(panel.times, panel.values, "o-", markersize=3, linewidth=0.8)
        axes.set_title(panel.title, parse_math=False)
        for limit in panel.limits:
            if limit is not None:
                axes.axhline(limit, linestyle="--", linewidth=0.8, color="tab:red")
        for time, letter in panel.events:
            axes.axvline(time, linestyle=":", linewidth=0.6, color="grey")
            axes.annotate(letter, (time, 0), xycoords=("data", "axes fraction"), fontsize=8)
    try:
        figure.savefig(file, format="png", dpi=120)
    except OSError as error:
        what, right = f"{file} cannot be written ({error.strerror})", "Name a file that can be."
        raise BadInput(what, value=str(file), right=right) from error
