"""What people look at: pages of the season, the day, the plot and the frost, from templates."""

from scheduler.pages.desk_pages import answer_page, happened_page, refusal_page, stock_page
from scheduler.pages.front_page import CalendarLink, front_sheet
from scheduler.pages.overview_page import HoldingRow, holding_row, overview_page
from scheduler.pages.rendering import MARK, Page, Rows, code_lines
from scheduler.pages.season_page import season_picture
from scheduler.pages.site_pages import (
    PageLink,
    drawn_pages,
    owner_links,
    owner_pages,
    person_pages,
)
