"""All language: titles, descriptions and reasons, tables for people and records for programs."""

from scheduler.words import phrases
from scheduler.words.due_sheet import due_record, due_tables, dues_of, harvests_in, short_due
from scheduler.words.frost_sheet import frost_record, frost_tables, tonight_record, tonight_tables
from scheduler.words.material_words import mulches_of
from scheduler.words.phrases import move_lines
from scheduler.words.price_words import comparison_record, comparison_table, hours_by_name
from scheduler.words.roster_sheet import roster_record, roster_tables
from scheduler.words.short import (
    HEAVY,
    HeavyDays,
    brief_hours,
    brief_span,
    heavy_to_come,
    short_frost,
    short_plan,
)
from scheduler.words.sky_sheet import sky_record, sky_tables
from scheduler.words.station_sheet import rain_tables, spare_record, station_record, station_tables
from scheduler.words.table import Table, notice_lines, notice_records, plain
from scheduler.words.text import MAX_NAME, MAX_TITLE, clean, clean_category, shortened, slug_of
from scheduler.words.visit_text import (
    day_notes,
    errand_description,
    part_words,
    release_description,
    visit_text,
    window_description,
)
from scheduler.words.why_day import why_record, why_table
from scheduler.words.work_words import held_back_words, proof_words
