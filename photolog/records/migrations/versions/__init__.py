"""The migrations, one file each, oldest first."""
