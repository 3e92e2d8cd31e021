"""All language: titles, descriptions and reasons, tables for people and records for programs."""

from scheduler.words import aim_words, due_sheet, phrases, records, roster_words, sheet, why_day
from scheduler.words.due_sheet import dues_of
from scheduler.words.frost_records import frost_record
from scheduler.words.frost_tables import frost_tables
from scheduler.words.material_words import mulches_of
from scheduler.words.phrases import move_lines
from scheduler.words.sheet import Table, notice_lines
from scheduler.words.short import HeavyDays, heavy_days_of, short_due, short_frost, short_plan
from scheduler.words.spare_words import rain_tables, spare_record
from scheduler.words.station_tables import station_record, station_tables
from scheduler.words.text import MAX_NAME, MAX_TITLE, clean, clean_category, shortened, slug_of
from scheduler.words.tonight import tonight_record, tonight_tables
from scheduler.words.visit_text import day_notes, visit_text
from scheduler.words.work_words import harvests_in, held_back_words, proof_words

__all__ = [
    "MAX_NAME",
    "MAX_TITLE",
    "HeavyDays",
    "Table",
    "aim_words",
    "clean",
    "clean_category",
    "day_notes",
    "due_sheet",
    "dues_of",
    "frost_record",
    "frost_tables",
    "harvests_in",
    "heavy_days_of",
    "held_back_words",
    "move_lines",
    "mulches_of",
    "notice_lines",
    "phrases",
    "proof_words",
    "rain_tables",
    "records",
    "roster_words",
    "sheet",
    "short_due",
    "short_frost",
    "short_plan",
    "shortened",
    "slug_of",
    "spare_record",
    "station_record",
    "station_tables",
    "tonight_record",
    "tonight_tables",
    "visit_text",
    "why_day",
]
