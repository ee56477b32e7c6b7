"""Words that differ from country to country, in one table; the grower chooses each once.

The first of each is the one that the program uses by itself. Which is used where is from memory,
common practice without a source, so none is tied to a country: the grower picks.
"""

from __future__ import annotations

from collections.abc import Mapping

__all__ = ["WORDS", "in_your_words"]

WORDS: dict[str, tuple[str, ...]] = {
    "tag": ("tag", "label"),
    "seed parent": ("seed parent", "pod parent"),
    "stopped": ("stopped", "pinched"),
    "pot tuber": ("pot tuber", "pot root"),
}


def in_your_words(text: str, chosen: Mapping[str, str]) -> str:
    """Put the grower's words in place of the program's; ``chosen`` maps term to word.

    Only whole words, in the singular or with an s, small or with a capital first letter.
    """
    import re

    for term, word in chosen.items():
        if word == term:
            continue

        def swap(match: re.Match[str], word: str = word) -> str:
            capital = match[1][0].isupper()
            return (word[0].upper() + word[1:] if capital else word) + match[2]

        text = re.sub(rf"\b({re.escape(term)})(s?)\b", swap, text, flags=re.IGNORECASE)
    return text
