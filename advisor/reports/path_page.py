"""The decision path as one page for a projector or for print: the answers beside a chart of belief.

Without scripting everything is visible and the marks still tell their value under the pointer; the
script only steps through. Nothing that may be an illness carries a number, a line or a rule's name.
"""

from __future__ import annotations

from collections.abc import Sequence

from advisor.dialogue import phrases
from advisor.inference.evidence import NOTHING_WRONG
from advisor.reports.cases import Opened, StepOfPath, path_of
from advisor.reports.chart import MOST, Line, chart
from advisor.reports.page import page, tag, wrap
from advisor.reports.path import after_fix, cause_words, probability, said_words, standing_words, step_lines

#: A cause that never was likelier than this gets no line.
_SEEN = 0.05

STYLE = """
.path { display: flex; flex-wrap: wrap; gap: 1.5rem; align-items: flex-start; }
.told { flex: 1 1 24rem; min-width: 0; }
.board { flex: 1.2 1 30rem; min-width: 0; position: sticky; top: .5rem; background: #fff; }
.steps { list-style: none; margin: 0; padding: 0; }
.step { border-left: 6px solid #bbb; padding: .3rem .8rem; margin: 0 0 .8rem; break-inside: avoid; }
.step h2 { font-weight: 700; } .step .asked { font-style: italic; }
.step dl { margin: .2rem 0 0; display: grid; grid-template-columns: max-content 1fr; gap: .1rem .8rem; }
.step dt { font-weight: 600; } .step dd { margin: 0; }
.step.now { border-left-color: #000; background: #f0f0f0; }
.stepping .step.later { opacity: .25; }
dd .stop { display: block; font-weight: 700; border: 2px solid #000; padding: 0 .3rem; }
.chart { width: 100%; height: auto; max-height: 82vh; } .chart text { font: 17px system-ui, sans-serif; }
.chart .rule { stroke: #ccc; } .chart .column rect { fill: transparent; }
.chart .column:hover rect, .chart .column.now rect { fill: #e4e4e4; }
.stepping .chart .belief .later { visibility: hidden; }
@media print {
  .path { flex-direction: column; } .told, .board { flex: none; width: 100%; }
  .board { position: static; order: -1; max-width: 16cm; break-inside: avoid; }
  .step.later { opacity: 1 !important; } .chart .belief .later { visibility: visible !important; }
}
"""

#: Arrow keys, Page Up and Down, Home, End and Escape; the pointer over a column; two buttons.
SCRIPT = """
(function () {
  var steps = [].slice.call(document.querySelectorAll('.step'));
  var marks = [].slice.call(document.querySelectorAll('.chart [data-step]'));
  var lines = [].slice.call(document.querySelectorAll('.chart .belief > path'));
  var bar = document.getElementById('bar'), at = -1;
  if (!steps.length) { return; }
  var whole = lines.map(function (line) { return line.getAttribute('d'); });
  function button(text, work) {
    var made = document.createElement('button');
    made.type = 'button'; made.textContent = text; made.addEventListener('click', work);
    bar.appendChild(made); bar.appendChild(document.createTextNode(' '));
  }
  function show(wanted, still) {
    at = Math.max(-1, Math.min(steps.length - 1, wanted));
    document.body.classList.toggle('stepping', at >= 0);
    steps.forEach(function (step, i) {
      step.classList.toggle('now', i === at);
      step.classList.toggle('later', at >= 0 && i > at);
      if (i === at) { step.setAttribute('aria-current', 'step'); }
      else { step.removeAttribute('aria-current'); }
    });
    marks.forEach(function (mark) {
      var n = Number(mark.getAttribute('data-step'));
      mark.classList.toggle('now', at >= 0 && n === at + 1);
      mark.classList.toggle('later', at >= 0 && n > at + 1);
    });
    lines.forEach(function (line, i) {
      var points = whole[i].split(' L');
      line.setAttribute('d', at < 0 ? whole[i] : points.slice(0, at + 2).join(' L'));
    });
    status.textContent = at < 0 ? 'all ' + steps.length + ' answers'
      : 'answer ' + (at + 1) + ' of ' + steps.length;
    if (at >= 0 && !still) { steps[at].scrollIntoView({ block: 'center' }); }
  }
  button('\\u2190 Back', function () { show(at - 1); });
  button('Next \\u2192', function () { show(at + 1); });
  button('Show all', function () { show(-1); });
  var status = document.createElement('span');
  status.setAttribute('role', 'status'); bar.appendChild(status);
  document.addEventListener('keydown', function (event) {
    if (event.ctrlKey || event.altKey || event.metaKey) { return; }
    var moves = { ArrowRight: at + 1, ArrowDown: at + 1, PageDown: at + 1, ArrowLeft: at - 1, ArrowUp: at - 1,
      PageUp: at - 1, Home: 0, End: steps.length - 1, Escape: -1 };
    if (event.key in moves) { event.preventDefault(); show(moves[event.key]); }
  });
  document.querySelectorAll('.chart .column').forEach(function (column) {
    var n = Number(column.getAttribute('data-step')) - 1;
    column.addEventListener('mouseenter', function () {
      steps.forEach(function (step, i) { step.classList.toggle('now', i === n); });
    });
    column.addEventListener('mouseleave', function () {
      steps.forEach(function (step, i) { step.classList.toggle('now', i === at); });
    });
    column.addEventListener('click', function () { show(n); });
  });
  show(-1, true);
})();
"""


def path_page(case: Opened) -> str:
    """The path of a case as a self-contained HTML page."""
    steps = list(path_of(case))
    sump = case.state.sump or phrases.NO_MACHINE
    title = f"How case {case.number} was decided"
    body = [
        tag("h1", title),
        tag("p", f"{sump}. Rule base {case.rules.hash}. {_ending(steps)}"),
        wrap("p", id="bar", class_="screen"),
    ]
    if steps:
        body.append(
            wrap("div", steps_html(steps), wrap("div", belief_chart(steps), class_="board"), class_="path")
        )
    else:
        body.append(tag("p", "Nothing was told yet, so nothing was decided."))
    body += [tag("p", f"After the fix: {check.text}.") for check in after_fix(case)]
    body.append(
        tag(
            "p",
            "What may be an illness has no line and no number: people are referred, never diagnosed.",
            class_="small",
        )
    )
    return page(title, "".join(body), style=STYLE, script=SCRIPT)


def _ending(steps: Sequence[StepOfPath]) -> str:
    if not steps:
        return ""
    last = steps[-1].after
    return f"{phrases.RUN[last.run]} {phrases.sentence(standing_words(last))}"


def steps_html(steps: Sequence[StepOfPath]) -> str:
    """The answers as a list, each with what it did."""
    made = []
    for i, step in enumerate(steps, 1):
        inner = [tag("p", f"asked: {step.asked}", class_="asked small")] if step.asked else []
        inner.append(tag("h2", f"{i}  {said_words(step)}"))
        rows = []
        for label, text in step_lines(step):
            alarm = "stop" if label.isupper() else None
            rows.append(tag("dt", label) + wrap("dd", tag("span", text, class_=alarm)))
        inner.append(wrap("dl", *rows))
        made.append(wrap("li", *inner, class_="step"))
    return wrap("div", wrap("ol", *made, class_="steps"), class_="told")


def shown_causes(steps: Sequence[StepOfPath]) -> list[str]:
    """The causes that get a line: whoever led or came second, likeliest at the end first."""
    rules = steps[-1].after.known.rules
    wanted: dict[str, float] = {}
    for step in steps:
        told = [j for j in step.after.causes if not rules.causes[j.id].referral]
        for judged in told[:4]:
            wanted[judged.id] = max(wanted.get(judged.id, 0.0), judged.probability)
    kept = [c for c, best in wanted.items() if best >= _SEEN or c == steps[-1].after.lead]
    ends = {c: probability(steps[-1].after, c) for c in kept}
    best = sorted(kept, key=lambda c: -max(wanted[c], ends[c]))[:MOST]
    return sorted(best, key=lambda c: (-ends[c], -wanted[c], c))


def belief_chart(steps: Sequence[StepOfPath], causes: Sequence[str] | None = None) -> str:
    """The chart of the causes given, or of those that led or came close."""
    rules = steps[-1].after.known.rules
    lines, told = [], []
    for cause in causes if causes is not None else shown_causes(steps):
        values = [probability(steps[0].before, cause)] + [probability(s.after, cause) for s in steps]
        name = "nothing wrong" if cause == NOTHING_WRONG else cause_words(rules, cause)
        lines.append(Line(name, tuple(values)))
        told.append([phrases.chance(v) for v in values])
    names = ["before any answer"] + [f"{i}: {said_words(s)}" for i, s in enumerate(steps, 1)]
    return chart(lines, names, told)
