"""How likely each act stays silent, by the guesses: for every net as the source and every run."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from catalogue.core.planning.guesses import Guesses, Known, Mask, Matrix

NEVER = -40.0
"""Logarithm of a chance that is none."""


def silence(known: Known, guesses: Guesses, touched: Mask) -> Matrix:
    """Of shape (nets, runs). `touched` has which nets a run touches. A run with all that a sweep of the same
    source beeped on cannot stay silent, nor one that touches the source.
    """
    runs = touched.astype(float)
    chances = guesses.spare[:, None] + guesses.mates.sum(axis=1)[:, None] - guesses.mates @ runs
    with np.errstate(divide="ignore"):
        other = np.log1p(-guesses.in_hub)
    for place in range(guesses.in_hub.shape[1]):
        logs = known.open * other[:, place][None, :]
        if place < len(guesses.hubs):
            hub = guesses.hubs[place]
            logs[:, hub] = np.where(known.open[:, hub], NEVER, 0.0)
        quiet = np.exp(logs @ runs)
        for source, sets in known.beeped.items():
            quiet[source] = _given_beep(quiet[source], logs[source], sets[0], runs)
        chances += guesses.in_hub[:, place][:, None] * quiet
    for place, hub in enumerate(guesses.hubs):
        logs_of_hub = known.open[hub] * other[:, place]
        quiet_hub = np.exp(logs_of_hub @ runs)
        if hub in known.beeped:
            quiet_hub = _given_beep(quiet_hub, logs_of_hub, known.beeped[hub][0], runs)
        chances[hub] = quiet_hub
    chances[touched] = 0.0
    for source, sets in known.beeped.items():
        for nets in sets:
            chances[source, touched[list(nets)].all(axis=0)] = 0.0
    clipped: Matrix = np.clip(chances, 0.0, 1.0)
    return clipped


def _given_beep(
    quiet: NDArray[np.float64], logs: NDArray[np.float64], nets: frozenset[int], runs: Matrix
) -> NDArray[np.float64]:
    """Silence on a run, given that one of `nets` is joined: then the beep comes from what the run leaves out."""
    within = np.zeros(len(logs))
    within[list(nets)] = logs[list(nets)]
    beeps = 1 - np.exp(within.sum())
    found: NDArray[np.float64] = quiet * (1 - np.exp(within @ (1 - runs))) / max(beeps, 1e-9)
    return found
