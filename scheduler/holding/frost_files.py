"""The files of a site that frost rests on, beside the station's record."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TypeVar

from scheduler.files import Fault
from scheduler.holding.frost_data import FrostData, OwnFrostData, package_frost_data
from scheduler.holding.plots import Plot
from scheduler.holding.references import unknown
from scheduler.holding.site import Site
from scheduler.weather import (
    Evening,
    ForecastNight,
    Record,
    read_evenings,
    read_forecast,
    read_record,
)

_T = TypeVar("_T")

OWN_DATA = "frost.toml"


@dataclass(frozen=True)
class FrostFiles:
    """What a site's files say of frost, beside its record.

    Args:
        data: figures in force: the package's, and the site's own frost.toml over them.
        loggers: nightly minima of the plots that have a logger, by plot id.
        forecast: forecast minima, past and present.
        evenings: clear evenings and the minima that followed.
    """

    data: FrostData
    loggers: Mapping[str, Record]
    forecast: tuple[ForecastNight, ...]
    evenings: tuple[Evening, ...]


class FrostReader:
    """Reads file after file and gathers the faults.

    Args:
        site: checked.
        plots: checked.
        text: gives the text of a file; None where it cannot be read, and has said so.
    """

    def __init__(
        self, site: Site, plots: Sequence[Plot], text: Callable[[str], str | None]
    ) -> None:
        self.site, self.plots, self.text = site, plots, text
        self.faults: list[Fault] = []

    def files(self, forecast: str | None, own: OwnFrostData | None) -> FrostFiles:
        """Everything, with the faults in ``faults``.

        Args:
            forecast: file to take in place of the one that site.toml names.
            own: what the site's own frost.toml says, if it has one.
        """
        policy = self.site.frost
        data = own.over(package_frost_data()) if own else package_frost_data()
        self.faults += [*_unit_faults(self.site, self.plots), *_bloom_faults(self.site, data)]
        self.faults += _adjustment_faults(self.plots, data)
        loggers = {plot.id: self._logger(plot.logger) for plot in self.plots if plot.logger}
        nights = self._rows(forecast or policy.forecast, read_forecast)
        return FrostFiles(
            data=data,
            loggers={plot: record for plot, record in loggers.items() if record is not None},
            forecast=nights,
            evenings=self._rows(policy.evenings, read_evenings),
        )

    def _logger(self, name: str) -> Record | None:
        text = self.text(name)
        if text is None:
            return None
        unit = self.site.frost.units.get(name)
        record, faults = read_record(name, text.split("\n"), unit=unit, zone=self.site.zone)
        self.faults += faults
        return record

    def _rows(
        self,
        name: str | None,
        read: Callable[[str, list[str]], tuple[tuple[_T, ...] | None, list[Fault]]],
    ) -> tuple[_T, ...]:
        text = self.text(name) if name else None
        if name is None or text is None:
            return ()
        rows, faults = read(name, text.split("\n"))
        self.faults += faults
        return rows or ()


def _unit_faults(site: Site, plots: Sequence[Plot]) -> Iterator[Fault]:
    named = [*site.frost.stations, *(plot.logger for plot in plots if plot.logger)]
    for name in site.frost.units:
        if name not in named:
            allowed = unknown(name, named) if named else "no record is named"
            yield Fault("site.toml", "[frost] units", name, repr(name), allowed)


def _bloom_faults(site: Site, data: FrostData) -> Iterator[Fault]:
    for plant, stage in site.frost.bloom.items():
        bloom = data.bloom_of(plant)
        if bloom is None:
            known = unknown(plant, [one.plant for one in data.bloom])
            yield Fault("site.toml", "[frost] bloom", plant, repr(plant), known)
        elif bloom.stage_named(stage) is None:
            known = unknown(stage, [one.id for one in bloom.stage])
            yield Fault("site.toml", "[frost] bloom", plant, repr(stage), known)


def _adjustment_faults(plots: Sequence[Plot], data: FrostData) -> Iterator[Fault]:
    for plot in plots:
        where = f"[[plot]] {plot.id} adjustment"
        for chosen in plot.adjustment:
            published = data.adjustment(chosen.id)
            if published is None:
                known = unknown(chosen.id, [one.id for one in data.site_adjustment])
                yield Fault("plots.toml", where, "id", repr(chosen.id), known)
            elif published.per == "100 m" and chosen.height_m is None:
                allowed = f"{chosen.id} is told for each 100 m: a height above the floor, m"
                yield Fault("plots.toml", where, "height_m", "nothing", allowed)
