"""How static files are kept: named by a hash of what is in them, so that browsers may keep them for good."""

from whitenoise.storage import CompressedManifestStaticFilesStorage


class HashedStaticFiles(CompressedManifestStaticFilesStorage):  # type: ignore[misc]
    """A script's imports are hashed too, so that no browser runs parts of two versions together."""

    support_js_module_import_aggregation = True
