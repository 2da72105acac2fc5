"""Sharing macros: what one needs, bundles of several, what one that comes would do here, a folder of them."""
