"""Bounds on a resistance as people read them, for the two that tell them: the core, and the bench in the browser."""

BOUNDS: dict[tuple[str, float], str] = {
    ("at most", 0.504): "at most 0.51 Ω",
    ("at least", 0.3024): "at least 0.3 Ω",
    ("at most", 0.1 + 0.2): "at most 0.3 Ω",
    ("at most", 1.1): "at most 1.1 Ω",
    ("at most", 99.1): "at most 100 Ω",
    ("at most", 995): "at most 1 kΩ",
    ("at least", 0): "at least 0 Ω",
    ("at least", 5099): "at least 5 kΩ",
    ("at least", 39_679_999.3): "at least 39 MΩ",
}
"""Which bound in ohms, and what is told: two figures, rounded outwards."""
