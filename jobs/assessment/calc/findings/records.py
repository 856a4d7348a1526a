"""What findings are made from and what they are: plain data, in and out."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from jobs.assessment.calc.ranges import MeasureRange, choose_range
from workshop.keyboard.calc.notes import Compass

SEVERITIES = ("safety", "playing", "wear", "looks")  # the worst first
SEEN, INFERRED, UNKNOWN = "seen", "inferred", "unknown"


@dataclass(frozen=True)
class Pointer:
    """An operation a reading points to when it is ``over``, ``under``, ``yes`` or any of them."""

    operation: str
    when: str = "any"
    kind: str = "both"


@dataclass(frozen=True)
class Measure:
    """One measure with its ranges, its sentences and the operations it points to.

    ``client_words`` say what is read as an owner would, "How heavy each key is". ``value_kind`` is number,
    grade, yesno or choice. The sentences ``over``, ``under`` and ``yes`` have blanks:
    ``{where}``, ``{count keys}``, ``{value}``, ``{range}``, ``{low}``, ``{high}`` and ``[one|many]``.
    """

    code: str
    name: str
    client_words: str = ""
    value_kind: str = "number"
    unit: str = ""
    choices: tuple[str, ...] = ()
    grade_words: tuple[str, ...] = ()
    ordinary_choice: str = ""
    kind: str = "both"
    severity: str = "playing"
    over: str = ""
    under: str = ""
    yes: str = ""
    meaning: str = ""
    ranges: tuple[MeasureRange, ...] = ()
    points_to: tuple[Pointer, ...] = ()

    def operations(self, when: str, kind: str) -> tuple[str, ...]:
        """Return the operations pointed to by that outcome that fit the kind of instrument."""
        return tuple(p.operation for p in self.points_to if p.when in (when, "any") and p.kind in ("both", kind))


@dataclass(frozen=True)
class Reading:
    """One value of one measure at one spot, in the unit of the measure; or the reason why there is none.

    ``spot_kind`` is note, section, panel or whole; ``key`` is given for a note, ``spot`` for a section or
    panel. A grade is a value, a yes/no and a choice are a ``choice``.
    """

    measure: str
    spot_kind: str = "whole"
    key: int | None = None
    spot: str = ""
    value: float | None = None
    choice: str = ""
    not_measured: str = ""


@dataclass(frozen=True)
class RoomClimate:
    """The air the readings were taken in: °C, per cent of relative humidity."""

    temperature_c: float | None = None
    humidity_percent: float | None = None


@dataclass(frozen=True)
class Examined:
    """All that was read on one instrument: readings by measure, the measures, and what the instrument is."""

    readings: Mapping[str, tuple[Reading, ...]]
    measures: Mapping[str, Measure]
    compass: Compass
    kind: str
    era: str
    climate: RoomClimate | None = None

    def valued(self, code: str) -> list[Reading]:
        """Return the readings of a measure that have a value."""
        return [reading for reading in self.readings.get(code, ()) if reading.value is not None]

    def notes(self, code: str) -> dict[int, float]:
        """Return the values of a measure by key, lowest first, for notes of the compass."""
        found = {
            reading.key: reading.value
            for reading in self.readings.get(code, ())
            if reading.key is not None and reading.value is not None and reading.key in self.compass
        }
        return dict(sorted(found.items()))

    def range_of(self, code: str) -> MeasureRange | None:
        """Return the range of a measure for this instrument, None if there is none."""
        measure = self.measures.get(code)
        return choose_range(measure.ranges, self.kind, self.era) if measure else None


@dataclass(frozen=True)
class FindingDraft:
    """What the readings of one measure say.

    ``sentence`` is for the owner, ``why`` for whoever asks; ``spots`` are names of notes, sections or panels;
    ``figures`` are the numbers behind the sentence.
    """

    measure: str
    severity: str
    certainty: str
    sentence: str
    why: str = ""
    spots: tuple[str, ...] = ()
    operations: tuple[str, ...] = ()
    figures: Mapping[str, float] = field(default_factory=dict)
