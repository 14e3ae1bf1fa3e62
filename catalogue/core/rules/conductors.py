"""Rules about the cores: what their copper can read, their colours, and where drains and screens go."""

from __future__ import annotations

from collections.abc import Iterator

from catalogue.core.bounds import Bound
from catalogue.core.copper import Span, core_ohms_per_m
from catalogue.core.document import Core, CoreKind, Mode, Net, Point, Result, Role
from catalogue.core.findings import Limit, Severity, Step
from catalogue.core.rules.context import Context
from catalogue.core.rules.phrases import bounds_apart, listed, shown_value
from catalogue.core.rules.remark import Remark
from catalogue.core.topology import Spot

FAR_ABOVE = 2.0
"""What reads more than this many times the most that its copper can have is far above it. Copper-clad
aluminium, with 62 to 68 % of the conductivity of copper, reads 1.6 times and stays below."""

EARTHING = (Role.GROUND, Role.SCREEN)


def below_copper(context: Context) -> Iterator[Remark]:
    for bound, copper in _read_through_copper(context):
        if bound.upper < copper.lower:
            least, most = bounds_apart(copper.lower, bound.upper)
            yield Remark(
                f"{_shown(context, bound)}, which is {most}, but copper of that gauge "
                f"and length has {least}. A gauge or length is wrong, a core is "
                "missing from the map, or the leads were subtracted already.",
                contacts=(bound.a, bound.b),
                witness=(Step(bound.reading, bound.a, bound.b, Limit.AT_MOST, bound.upper),),
                at=_places(context, bound),
            )


def above_copper(context: Context) -> Iterator[Remark]:
    for bound, copper in _read_through_copper(context):
        if FAR_ABOVE * copper.upper < bound.lower <= context.document.meter.join_ohms:
            least, most = bounds_apart(bound.lower, copper.upper)
            declared = context.net_of[bound.a] in context.declared_interrupted
            yield Remark(
                f"{_shown(context, bound)}, which is {least}, but copper of that gauge "
                f"and length has {most}. A core or a joint on the way is failing, or "
                "a gauge or length is wrong.",
                contacts=(bound.a, bound.b),
                witness=(Step(bound.reading, bound.a, bound.b, Limit.AT_LEAST, bound.lower),),
                at=_places(context, bound),
                severity=Severity.NOTE if declared else None,
            )


def _shown(context: Context, bound: Bound) -> str:
    value = shown_value(context.reading(bound.reading))
    return f"{bound.reading} shows {value} along net {context.net_of[bound.a]} from {bound.a} to {bound.b}"


def _places(context: Context, bound: Bound) -> tuple[str, ...]:
    net = context.net_of[bound.a]
    cores = (core.name for core in context.document.cores if core.carries == net)
    return (*context.readings_at((bound.reading,)), *(context.core_pointers[core] for core in cores))


def _read_through_copper(context: Context) -> Iterator[tuple[Bound, Span]]:
    """Values in ohms read along one declared net, with what its copper can have where that is known."""
    known: dict[tuple[str, str | Spot, str | Spot], Span | None] = {}
    cores = _cores_by_place(context)
    for bound in context.bounds:
        net = context.net_of.get(bound.a)
        if net is None or net != context.net_of.get(bound.b):
            continue
        reading = context.reading(bound.reading)
        if reading.mode is not Mode.OHMS or reading.result is not Result.VALUE:
            continue
        way = (net, context.spot(bound.a), context.spot(bound.b))
        if way not in known:
            known[way] = _copper(context, cores, *way)
        if (copper := known[way]) is not None:
            yield bound, copper


def _cores_by_place(context: Context) -> dict[tuple[str, str], list[Core]]:
    cores: dict[tuple[str, str], list[Core]] = {}
    for core in context.document.cores:
        cores.setdefault((core.carries, core.section), []).append(core)
    return cores


def _copper(
    context: Context, cores: dict[tuple[str, str], list[Core]], net: str, a: str | Spot, b: str | Spot
) -> Span | None:
    """Ohms that the cores of a net can have between two spots; None where core, gauge or length is unknown.

    At least all cores of a section in parallel, which no joint between them can undercut (Rayleigh); at most
    the thinnest of them alone.
    """
    way = context.topology.stretches(a, b)
    if not way:
        return None
    lower = upper = 0.0
    for stretch in way:
        spans = [
            core_ohms_per_m(core, context.reference.awg_ohms_per_m) for core in cores.get((net, stretch.section), ())
        ]
        known = [span for span in spans if span is not None]
        if not known or len(known) < len(spans) or stretch.length_m is None:
            return None
        lower += stretch.length_m / sum(1 / span.lower for span in known)
        upper += stretch.length_m * max(span.upper for span in known)
    return Span(lower, upper)


def colour_twice(context: Context) -> Iterator[Remark]:
    alike: dict[tuple[str, str, tuple[str, ...]], list[Core]] = {}
    for core in context.document.cores:
        if core.colours:
            alike.setdefault((core.section, core.bundle, core.colours), []).append(core)
    for (section, bundle, colours), cores in alike.items():
        if len(cores) > 1:
            where = f"bundle {bundle} of section {section}" if bundle else f"section {section}"
            yield Remark(
                f"Cores {listed(core.name for core in cores)} are all {'-'.join(colours)} in {where}. "
                "Nobody could tell them apart: give each the bundle it lies in, or its true colour.",
                at=tuple(context.core_pointers[core.name] for core in cores),
            )


def drain_adrift(context: Context) -> Iterator[Remark]:
    by_net: dict[str, list[Core]] = {}
    for core in context.document.cores:
        if core.kind in (CoreKind.DRAIN, CoreKind.SCREEN):
            by_net.setdefault(core.carries, []).append(core)
    for name, cores in by_net.items():
        said = f"{listed(f'{core.kind} {core.name}' for core in cores)}"
        if not name:
            said += f" {'is' if len(cores) == 1 else 'are'} in no net"
        elif name in context.nets and not _earthed(context, context.nets[name]):
            said += f" {'is' if len(cores) == 1 else 'are'} in net {name}, which is joined to no ground"
        else:
            continue
        yield Remark(
            f"{said[0].upper()}{said[1:]}. A screen that hangs free protects nothing: say what it is joined to.",
            at=tuple(context.core_pointers[core.name] for core in cores),
        )


def _earthed(context: Context, net: Net) -> bool:
    """Whether a net is a ground or a screen that ends at a contact, or is joined to one."""
    contacts = context.known_contacts(net)
    if contacts and net.role in (*EARTHING, Role.UNKNOWN):
        return True
    joined = {context.deduction.net_index[contact] for contact in contacts}
    return any(_is_earth(context, point) for index in joined for point in context.deduction.nets[index]) or any(
        _is_earth(context, contact) for contact in contacts
    )


def _is_earth(context: Context, point: Point) -> bool:
    standard = context.standard(point)
    declared = context.nets.get(context.net_of.get(point, ""))
    return (standard is not None and standard.role in EARTHING) or (declared is not None and declared.role in EARTHING)
