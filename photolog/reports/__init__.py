"""Pages to keep or hand on: each one HTML file that needs nothing else."""

from photolog.reports.history_page import history_page
from photolog.reports.seasons_page import seasons_page
from photolog.reports.waiting_page import waiting_page

__all__ = ["history_page", "seasons_page", "waiting_page"]
