"""What happens in the field, told on a page: shown with what it moves, then kept in the files."""

from scheduler.desk.links import links_in
from scheduler.desk.serving import listening, server_of
from scheduler.desk.site_desk import SiteDesk, WriteOptions
