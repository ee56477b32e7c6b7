"""The printed cards and tags as data, and finding them in a picture."""
