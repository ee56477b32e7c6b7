"""The stock book of a dahlia grower: dated, matched and measured photographs."""

__all__ = ["__version__"]

__version__ = "0.1.0"
