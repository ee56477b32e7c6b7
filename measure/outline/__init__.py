"""What is bloom, clump or tuber in a picture, and how far to trust it."""
