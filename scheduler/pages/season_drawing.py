"""Where bars and words of the season sheet stand, in the units of its drawings.

Decided: words are placed here, each at the first spot where it meets nothing.
Refused: fixed spots in the templates, where the words of busy weeks cover one another.
Held by tests/pages/test_season_drawing.py::test_no_two_labels_of_a_band_meet.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import groupby

from scheduler.pages.season_rows import Band, Bar, SeasonSheet, Span, Week
from scheduler.words import brief_hours, brief_span

DAY = timedelta(days=1)
FULL_H = 14.0  # hours of a calendar day that make a bar as high as its band lets it be
ROOM, MARGIN = 3.5, 8.0  # between words and what is beside them; right of the last day
AWAY = " away"  # what follows the name in a span of leave
LEAST_W, LEAST_H = 4.0, 5.0  # of a bar, so that it is seen
PEAKS, PEAK, APART = 3, 0.3, timedelta(weeks=4)  # weeks named: how many, how full, how far apart
# by class, as season.css has it: size of the letters, and the width of most and of thin ones in it
LETTERS = {"frost-from": (11, 0.66, 0.33), "small": (11, 0.66, 0.33)}
LETTERS |= {"release": (13, 0.7, 0.4), "frost-end": (13, 0.7, 0.4), "today-word": (12, 0.7, 0.4)}
PLAIN = (12, 0.66, 0.33)
THIN = frozenset(" ,.:;–'’()/fijlrtI")


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle by its edges, y downwards."""

    x: float
    y: float
    right: float
    foot: float

    def meets(self, other: "Box", room: float = 0) -> bool:
        """Whether they have an area in common, or come so near side by side."""
        across = self.x < other.right + room and other.x < self.right + room
        return across and self.y < other.foot and other.y < self.foot

    @property
    def slants(self) -> str:
        """Slanted lines cut to it: a pattern fill makes a printed page many times heavier."""
        w, h = self.right - self.x, self.foot - self.y
        return "".join(
            f"M{self.x + max(0, at - h):.1f},{self.y + min(at, h):.1f}"
            f"L{self.x + min(at, w):.1f},{self.y + max(0, at - w):.1f}"
            for at in range(8, int(w + h), 8)
        )


@dataclass(frozen=True, slots=True)
class Label:
    """Words at a spot: their beginning or end, and the line that the letters stand on."""

    css: str
    text: str
    x: float
    y: float
    anchor: str = "start"

    @property
    def box(self) -> Box:
        """What they cover, by the width of letters in a common wide typeface."""
        size, most, thin = LETTERS.get(self.css, PLAIN)
        length = size * sum(thin if letter in THIN else most for letter in self.text)
        x = self.x - (length if self.anchor == "end" else 0)
        return Box(x, self.y - size, x + length, self.y + 3)


def placed_labels(wishes: Iterable[list[Label]], frame: Box, taken: list[Box]) -> list[Label]:
    """Of each wish the first that is free; what finds no room is left to the lists of the page."""
    labels: list[Label] = []
    for tries in wishes:
        for label in tries:
            box = label.box
            inside = frame.x <= box.x and box.right <= frame.right and frame.y <= box.y
            if inside and not any(box.meets(other, ROOM) for other in taken):
                labels.append(label)
                taken = [*taken, box]
                break
    return labels


@dataclass(frozen=True, slots=True)
class Strip:
    """A plot's band and what is drawn in it."""

    band: Band
    box: Box
    foot: float  # the line that the bars stand on
    bars: list[tuple[Bar, Box]]  # as merged; the highest first, so that none is hidden
    ghosts: list[tuple[Bar, Box, Box]]  # of what has moved: where it was, where it is

    @property
    def named(self) -> list[tuple[Bar, Box]]:
        """Campaigns, and what has moved: the release first, then the others by day."""
        bars = [(bar, box) for bar, box in self.bars if bar.was or not bar.title]
        return sorted(bars, key=lambda bar: (bar[0].kind != "release", bar[0].first))


@dataclass(frozen=True, slots=True)
class Scale:
    """Time across a drawing of some width."""

    sheet: SeasonSheet
    left: float
    right: float

    def x(self, day: date) -> float:
        """Where a day begins; one outside the plan is at the edge."""
        days = min(max(0, (day - self.sheet.first).days), self.sheet.n_days)
        return round(self.left + (self.right - self.left) * days / self.sheet.n_days, 1)

    def box(self, first: date, last: date, y: float, foot: float, least_w: float = 0) -> Box:
        """Some days; at least so wide."""
        right = max(self.x(first) + least_w, self.x(last + DAY))
        return Box(self.x(first), round(y, 1), round(right, 1), round(foot, 1))

    def strip(self, band: Band, y: float, h: float, head: float, foot: float) -> Strip:
        """The band of a plot: a bar is as wide as its days, as high as the hours of a day."""
        base = y + h - foot

        def box(bar: Bar, first: date) -> Box:
            length = bar.last - bar.first
            full = min(1, bar.hours / (length.days + 1) / FULL_H) * (h - head - foot)
            return self.box(first, first + length, base - max(LEAST_H, full), base, LEAST_W)

        bars = [(bar, box(bar, bar.first)) for bar in merged(band.bars)]
        bars.sort(key=lambda bar: bar[1].y)
        moved = [(bar, box(bar, bar.was), box(bar, bar.first)) for bar in band.bars if bar.was]
        return Strip(band, Box(self.left, y, self.right, y + h), base, bars, moved)

    def labels(self, strip: Strip) -> list[Label]:
        """The words in a band."""
        taken = [box for _, box in strip.bars] + [box for _, box, _ in strip.ghosts]
        if strip.band.closes:
            x = self.x(strip.band.closes + DAY)
            taken.append(Box(x, strip.box.y, x, strip.box.foot))
        frame = replace(strip.box, right=self.right + MARGIN)
        return placed_labels(self._wishes(strip), frame, taken)

    def _wishes(self, strip: Strip) -> Iterator[list[Label]]:
        """What to say in a band, the most important first, and where, the best first."""
        band, lines = strip.band, range(int(strip.box.y) + 13, int(strip.foot) + 1, 7)
        if band.closes:
            yield list(_end_labels(self.x(band.closes + DAY), brief_span(band.closes), lines))
        if band.unscheduled:
            words = f"unscheduled: {', '.join(band.unscheduled)} visit"
            yield [Label("today-word", words, self.left + 6, y) for y in lines]
        for x, words in ((self.x(day), f"from {brief_span(day)}") for day in band.opens):
            sides = (x + 4, "start"), (x - 4, "end")
            yield [
                Label("frost-from", words, at, y, anchor) for y in lines for at, anchor in sides
            ]
        for bar, box in strip.named:
            more = lines if bar.kind == "release" else ()
            yield [
                label for text in bar_words(bar) for label in _beside(bar.kind, text, box, more)
            ]

    def span_labels(self, spans: Iterable[Span], y: float) -> list[Label]:
        """The words of spans in a row, beside each in the longest form that has room."""
        boxes = [self.box(span.first, span.last, y - 9, y + 1, LEAST_W) for span in spans]
        wishes = (
            [label for text in _span_words(span) for label in _beside("small", text, box)]
            for span, box in zip(spans, boxes, strict=True)
        )
        frame = Box(self.left, y - 14, self.right + MARGIN, y + 5)
        return placed_labels(wishes, frame, boxes)


def _span_words(span: Span) -> tuple[str, ...]:
    days = brief_span(span.first, span.last)
    return f"{span.words}, {days}", span.words, days, brief_span(span.first)


def _end_labels(x: float, day: str, lines: Iterable[int]) -> Iterator[Label]:
    """Left of the line where frost ends, the date alone there, then right of it."""
    for text in (f"frost ends {day}", day):
        for off in (5, 10, 16):
            yield from (Label("frost-end", text, x - off, y, "end") for y in lines)
    yield from (Label("frost-end", f"frost ends {day}", x + 5, y) for y in lines)


def _beside(css: str, text: str, box: Box, lines: Iterable[int] = ()) -> Iterator[Label]:
    """Right of a bar, there also on other lines, above it, left of it."""
    middle = (box.y + box.foot) / 2 + 4
    for y in (middle, *sorted(lines, key=lambda y: abs(y - middle))):
        yield Label(css, text, box.right + 4, y)
    yield Label(css, text, box.x, box.y - 5)
    yield Label(css, text, box.x - 4, middle, "end")


def merged(bars: Iterable[Bar]) -> list[Bar]:
    """Bars of one kind that overlap or follow on the next day as one, their hours summed."""
    whole: list[Bar] = []
    for bar in sorted(bars, key=lambda bar: (bar.kind, bar.first)):
        before = whole[-1] if whole else None
        if before and before.kind == bar.kind and bar.first <= before.last + DAY:
            was = min(filter(None, (before.was, bar.was)), default=None)
            title = f"{before.title}, {bar.title}" if before.title and bar.title else ""
            last, hours = max(before.last, bar.last), before.hours + bar.hours
            whole[-1] = replace(before, title=title, last=last, hours=hours, was=was)
        else:
            whole.append(bar)
    return whole


def bar_words(bar: Bar) -> tuple[str, str]:
    """What is said of a bar, and its dates alone."""
    was = f", was {brief_span(bar.was)}" if bar.was else ""
    days = brief_span(bar.first, bar.last)
    return f"{bar.kind} {days}, {brief_hours(bar.hours)} h{was}", f"{days}{was}"


def joined(spans: Iterable[Span], kind: str) -> list[Span]:
    """The spans of a kind by their days, those of the same days as one."""
    end = AWAY if kind == "leave" else ""
    mine = sorted((s.first, s.last, s.words.removesuffix(end)) for s in spans if s.kind == kind)
    by_days = groupby(mine, key=lambda row: row[:2])
    return [
        Span(first, last, " and ".join(row[2] for row in rows) + end, kind)
        for (first, last), rows in by_days
    ]


def peaks(weeks: Iterable[Week]) -> list[Week]:
    """The fullest weeks, well apart."""
    found: list[Week] = []
    for week in sorted(weeks, key=lambda week: -week.load_h):
        apart = all(abs(week.first - other.first) > APART for other in found)
        if apart and len(found) < PEAKS and week.load_h > PEAK * week.crew_h:
            found.append(week)
    return found
