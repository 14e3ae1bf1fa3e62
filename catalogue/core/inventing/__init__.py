"""Inventing a large catalogue: cables, what was read of them, and what failed, all marked as invented.

    cable = invented_cable(seed, number, reference)

gives the same cable whenever it is asked for, and neighbours do not depend on each other. Wiring and weak places are
drawn first; readings, confirmations and failure reports follow from them, as they would on benches: see
`catalogue.core.simulation`.
"""
