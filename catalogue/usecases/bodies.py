"""What is sent as JSON and is no map document: its value, when every JSON reader would read the same."""

from catalogue.core.problems import BadDocument, BadRequest
from catalogue.exchange.json_values import cleaned, decoded
from catalogue.exchange.violations import defects
from catalogue.usecases.sizes import refuse_too_large


def json_value(raw: bytes, what: str) -> object:
    """The value of a JSON text; `what` is sent, such as "The question".

    Raises TooLarge, or BadRequest with every place that no JSON reader agrees on.
    """
    refuse_too_large(raw, what)
    try:
        clean = cleaned(decoded(raw))
    except BadDocument as problem:
        raise BadRequest(f"{what} is not JSON that can be read. Nothing was stored.", problem.defects) from None
    if clean.violations:
        raise BadRequest(f"{what} cannot be read. Nothing was stored.", defects(clean.violations))
    return clean.value
