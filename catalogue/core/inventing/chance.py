"""Small draws that the invention shares."""

from collections.abc import Mapping, Sequence
from typing import TypeVar

from numpy.random import Generator

Value = TypeVar("Value")


def one_of(rng: Generator, values: Sequence[Value]) -> Value:
    """One of the values, each as likely."""
    return values[int(rng.random() * len(values))]


def weighted(rng: Generator, shares: Mapping[Value, float]) -> Value:
    """One of the keys, as likely as its share of the sum."""
    left = rng.random() * sum(shares.values())
    for value, share in shares.items():
        left -= share
        if left < 0:
            return value
    return value


def some_of(rng: Generator, values: Sequence[Value], many: int) -> list[Value]:
    """So many of the values at most, each once, in the order of chance."""
    return [values[place] for place in rng.permutation(len(values))[:many].tolist()]
