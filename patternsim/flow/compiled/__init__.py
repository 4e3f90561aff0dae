"""Compiled parts of the flow; nothing compiled calls what is compiled in another file.

A compiled function kept on disk goes stale unnoticed when a function it calls in another file changes.
"""

__all__: list[str] = []
