"""Widgets: they take plain values and give signals; no job and no steel in them."""
