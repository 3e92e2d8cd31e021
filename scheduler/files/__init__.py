"""A grower's file as text, rows and checked values; what is wrong with it; how it is written."""

from scheduler.files import fields
from scheduler.files.csv_cells import cells_at, csv_text, delimiter_of, quote_fault
from scheduler.files.disk import (
    PRIVATE_FILE,
    PRIVATE_FOLDER,
    SHARED_FILE,
    BusyError,
    locked,
    sweep,
    write_whole,
)
from scheduler.files.faults import CsvRow, Fault, FaultyFilesError, did_you_mean, shown, validated
from scheduler.files.sheets import sheet_text
from scheduler.files.tables import (
    checked_rows,
    header_of,
    lines_of_csv,
    marked,
    missing_columns,
    rows_of_csv,
    unmarked,
)
from scheduler.files.text_files import read_bytes, text_of, toml_of
