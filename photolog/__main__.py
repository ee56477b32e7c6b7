"""``python -m photolog``, for where the command is not on the path."""

from photolog.cli import main

__all__: list[str] = []

main()
