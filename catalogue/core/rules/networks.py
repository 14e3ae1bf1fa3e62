"""The rule that resistances read between several nets must fit some network of resistors."""

from __future__ import annotations

from collections.abc import Iterator

from catalogue.core.bounds import disputed
from catalogue.core.hidden_parts import misfits
from catalogue.core.rules.context import Context
from catalogue.core.rules.phrases import listed
from catalogue.core.rules.remark import Remark


def no_network(context: Context) -> Iterator[Remark]:
    told = frozenset(disputed(context.violations))
    for misfit in misfits(context.sound_readings, context.document.meter, context.deduction):
        if told.isdisjoint(misfit.readings):
            yield Remark(
                f"No network of resistors was found that reads like this between the nets of {listed(misfit.contacts)} "
                f"({listed(misfit.readings)}). One of these readings is off, or a part in between is not a resistor.",
                contacts=misfit.contacts,
                readings=misfit.readings,
                at=context.readings_at(misfit.readings),
            )
