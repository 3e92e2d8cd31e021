"""Kinds by what people call them: any capitals, hyphens, plurals, Latin in full or cut short."""

import difflib
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import TypeAlias

from scheduler.holding.plants import Plant

_Ids: TypeAlias = Mapping[str, frozenset[str]]
# how words end alike in singular and plural, once s, x and e are off: limões, chevaux, cherries,
# nueces, jasmins, caracóis
_ENDS = (("ao", "o"), ("au", "ai"), ("y", "i"), ("z", "c"), ("m", "n"), ("l", "i"))
_SHORTEST = 3  # letters of a word whose ending says anything
_NO_WORDS = ("s", "x")  # of weaver's, and of hybrids


@lru_cache(maxsize=4096)  # every site of a night has the same names
def plain_name(name: str) -> str:
    """A name without accents, case, hyphens and the like, to be looked up.

    >>> plain_name("  Árbol-de la  seda ")
    'arbol de la seda'
    """
    bare = unicodedata.normalize("NFKD", name.casefold())
    letters = "".join(c for c in bare if not unicodedata.combining(c))
    return " ".join("".join(c if c.isalnum() else " " for c in letters).split())


def ids_by_name(names: Iterable[tuple[str, str]]) -> dict[str, frozenset[str]]:
    """Ids by name, of pairs of the two."""
    found: dict[str, set[str]] = {}
    for name, entry_id in names:
        found.setdefault(name, set()).add(entry_id)
    return {name: frozenset(ids) for name, ids in found.items()}


@lru_cache(maxsize=4096)
def loose_names(plain: str) -> tuple[str, ...]:
    """What a plain name has in common with its plurals, and with its words written as one.

    >>> loose_names("black cherries") == loose_names("black cherry")
    True
    >>> set(loose_names("limones")) & set(loose_names("limon"))
    {'limon'}
    """
    first, *rest = plain.split() or [""]
    words = [first, *(word for word in rest if word not in _NO_WORDS)]
    return " ".join(map(_stem, words)), _stem("".join(words)), _stem(plain.replace(" ", ""))


def _stem(word: str) -> str:
    stem = word.rstrip("sxe")
    if len(stem) < _SHORTEST:
        return word.rstrip("sx") or word
    return next((stem.removesuffix(end) + to for end, to in _ENDS if stem.endswith(end)), stem)


@dataclass(frozen=True)
class KindNames:
    """The kinds of a rule book by name; an id goes before a name, and a name before a likeness."""

    ids: _Ids
    names: _Ids  # botanical and common, in any language, plain
    loose: _Ids  # the same without their plurals, and the botanical ones with an initial

    @classmethod
    def of(cls, plants: Iterable[Plant]) -> "KindNames":
        """The names of some kinds."""
        every = list(plants)
        ids = [(plain_name(plant.id), plant.id) for plant in every]
        names = [
            (plain_name(name), plant.id)
            for plant in every
            for name in (plant.name, plant.botanical, *plant.names.every)
        ]
        short = [(_initialled(plain_name(plant.botanical)), plant.id) for plant in every]
        loose = [(key, to) for name, to in (*ids, *names, *short) for key in loose_names(name)]
        return cls(ids_by_name(ids), ids_by_name(names), ids_by_name(loose))

    def called(self, name: str) -> tuple[str, ...]:
        """The ids of the kinds that a name may mean: one, none, or several where it is shared."""
        plain = plain_name(name)
        for layer, keys in (
            (self.ids, (plain,)),
            (self.names, (plain,)),
            (self.loose, loose_names(plain)),
        ):
            if found := {kind for key in keys for kind in layer.get(key, ())}:
                return tuple(sorted(found))
        return ()

    def kin(self, name: str) -> tuple[str, ...]:
        """The ids of kinds whose names begin or end with one: ``cherry`` for sweet and sour."""
        plain, *_ = loose_names(plain_name(name))
        fits = (
            kinds
            for known, kinds in self.loose.items()
            if plain and (known.startswith(f"{plain} ") or known.endswith(f" {plain}"))
        )
        return tuple(sorted(set().union(*fits)))

    def near(self, name: str, cutoff: float) -> tuple[str, str] | None:
        """The name that is written most like one, and its kind."""
        many = {f"{name}s": kinds for name, kinds in self.names.items()}
        known = {**many, **self.names, **self.ids}
        for near in difflib.get_close_matches(plain_name(name), known, n=1, cutoff=cutoff):
            return near, min(known[near])
        return None


def _initialled(plain: str) -> str:
    """``malus domestica`` as ``m domestica``."""
    genus, _, rest = plain.partition(" ")
    return f"{genus[:1]} {rest}"
