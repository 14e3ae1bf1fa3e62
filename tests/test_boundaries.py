"""What each part of the project may import: one table, held against the imports of every module.

The core is pure: no Django, no files, no clock, no unseeded chance. Only the use cases know how the parts
work together; pages, API and commands call them and nothing below them.
"""

import ast
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent

# Nothing in it reaches files, other processes, the network, the clock or chance.
# fmt: off
PURE_STANDARD_LIBRARY = frozenset({
    "__future__", "abc", "array", "bisect", "collections", "contextlib", "copy", "dataclasses", "datetime",
    "decimal", "enum", "fractions", "functools", "hashlib", "heapq", "itertools", "json", "math",
    "numbers", "operator", "re", "statistics", "string", "textwrap", "types", "typing",
    "unicodedata",
})
# fmt: on
# Subprocess is left out: one file runs graphviz, and nothing else runs programs.
STANDARD_LIBRARY = sys.stdlib_module_names - {"subprocess"}


@dataclass(frozen=True)
class Part:
    """One package or module. It may import itself and what `may_import` names, each with all below it."""

    name: str
    may_import: tuple[str, ...] = ()
    standard_library: frozenset[str] = STANDARD_LIBRARY


PARTS = (
    Part("catalogue.core", ("numpy", "scipy"), PURE_STANDARD_LIBRARY),
    Part("catalogue.exchange", ("catalogue.core", "jsonschema_rs")),
    Part("catalogue.tables", ("catalogue.core",)),
    Part("catalogue.drawing", ("catalogue.core",)),
    Part("catalogue.drawing.dot", ("catalogue.core", "catalogue.drawing", "graphviz")),
    Part("catalogue.drawing.pages", ("pypdf",)),
    Part("catalogue.drawing.render", ("catalogue.core", "catalogue.drawing", "subprocess")),
    Part("catalogue.models", ("django",)),
    Part("catalogue.migrations", ("django", "catalogue.models")),
    Part("catalogue.bulk", ("django.db",)),
    Part("catalogue.store", ("catalogue.models", "catalogue.core", "catalogue.bulk", "django.db")),
    Part("catalogue.search", ("catalogue.models", "catalogue.core", "catalogue.bulk", "django.db")),
    Part(
        "catalogue.usecases",
        (
            "catalogue.bulk",
            "catalogue.core",
            "catalogue.drawing",
            "catalogue.exchange",
            "catalogue.models",
            "catalogue.search",
            "catalogue.store",
            "catalogue.tables",
            # Transactions, the clock, the cache, mail, the queue, hashed tokens, permissions, verified addresses;
            # nothing of requests and pages.
            "allauth.account.models",
            "django.conf",
            "django.contrib.auth.models",
            "django.core.cache",
            "django.core.mail",
            "django.db",
            "django.utils",
            "django_tasks",
            "django_tasks_db.models",
            "knox.models",
        ),
    ),
    Part("catalogue.views", ("catalogue.usecases", "catalogue.core", "catalogue.forms", "django")),
    Part("catalogue.forms", ("catalogue.usecases", "catalogue.core", "django")),
    Part("catalogue.templatetags", ("catalogue.usecases", "catalogue.core", "django")),
    Part("catalogue.management", ("catalogue.usecases", "catalogue.core", "django", "rich")),
    Part("api", ("catalogue.usecases", "catalogue.core", "django", "rest_framework", "drf_spectacular", "knox")),
    # What Django itself asks for, by name, when the site starts.
    Part("catalogue.apps", ("django",)),
    Part("catalogue.settings", ("django", "environ", "csp")),
    Part("catalogue.sqlite", ("django",)),
    Part("catalogue.replica", ("django",)),
    Part("catalogue.mail", ("django", "django_tasks")),
    Part("catalogue.static_files", ("whitenoise",)),
    Part("catalogue.accounts", ("catalogue.usecases", "django", "allauth")),
    Part("catalogue.urls", ("django", "allauth", "catalogue.core", "catalogue.views", "api.urls", "api.limits")),
    Part("catalogue.wsgi", ("django",)),
)

# What would still reach a file, the clock or unseeded chance without an import of its own.
IMPURE_BUILTINS = frozenset({"__import__", "eval", "exec", "input", "open", "print"})
IMPURE_METHODS = frozenset({"fromfile", "genfromtxt", "loadtxt", "memmap", "now", "savetxt", "today", "utcnow"})
SEEDED_CHANCE = frozenset({"Generator", "default_rng"})


def within(name: str, prefix: str) -> bool:
    return name == prefix or name.startswith(prefix + ".")


def part_of(module: str) -> Part | None:
    """The part that owns a module: of two that match, the one with the longer name."""
    owners = [part for part in PARTS if within(module, part.name)]
    return max(owners, key=lambda part: len(part.name), default=None)


def module_name(root: Path, path: Path) -> str:
    return ".".join(path.relative_to(root).with_suffix("").parts).removesuffix(".__init__")


def imports(tree: ast.Module, package: str) -> Iterator[tuple[int, str]]:
    """Line and dotted name of everything imported anywhere in a module, also inside functions.

    `from a import b` counts as `a.b`, because `b` may be a module.
    """
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from ((node.lineno, alias.name) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            above = package.split(".")[: len(package.split(".")) - node.level + 1] if node.level else []
            base = ".".join([*above, *([node.module] if node.module else [])])
            yield from ((node.lineno, f"{base}.{alias.name}") for alias in node.names)


def impure_calls(tree: ast.Module) -> Iterator[tuple[int, str]]:
    """Line and text of calls that pure code may not make."""
    for node in ast.walk(tree):
        match node:
            case ast.Call(func=ast.Name(id=name)) if name in IMPURE_BUILTINS:
                yield node.lineno, f"{name}()"
            case ast.Call(func=ast.Attribute(attr=name)) if name in IMPURE_METHODS:
                yield node.lineno, f"{ast.unparse(node.func)}()"
            case ast.Call(func=ast.Attribute(attr="default_rng") | ast.Name(id="default_rng"), args=[], keywords=[]):
                yield node.lineno, f"{ast.unparse(node.func)}() without a seed"
            case ast.Attribute(value=ast.Attribute(attr="random") | ast.Name(id="random"), attr=name):
                if name not in SEEDED_CHANCE:
                    yield node.lineno, ast.unparse(node)


def may_import(part: Part, name: str) -> bool:
    if any(within(name, allowed) for allowed in (part.name, *part.may_import)):
        return True
    return name.partition(".")[0] in part.standard_library


def wrongs(tree: ast.Module, part: Part, package: str) -> Iterator[tuple[int, str]]:
    """Line and text of everything in a module that its part forbids."""
    for line, name in imports(tree, package):
        if not may_import(part, name):
            yield line, f"{part.name} may not import {name}"
    if part.standard_library is PURE_STANDARD_LIBRARY:
        for line, call in impure_calls(tree):
            yield line, f"pure code may not use {call}"


def violations(root: Path) -> list[str]:
    """`file:line: what is wrong` for every module of the project below a folder."""
    found = []
    for path in sorted([*root.glob("catalogue/**/*.py"), *root.glob("api/**/*.py")]):
        module, where = module_name(root, path), path.relative_to(root)
        tree = ast.parse(path.read_text(encoding="utf-8"))
        package = module if path.name == "__init__.py" else module.rpartition(".")[0]
        part = part_of(module)
        if part:
            found += [f"{where}:{line}: {wrong}" for line, wrong in sorted(wrongs(tree, part, package))]
        elif tree.body:
            found.append(f"{where}:1: belongs to no part of the table")
    return found


def test_every_module_imports_only_what_its_part_may():
    assert violations(ROOT) == []


def test_the_catalogue_package_itself_is_empty():
    assert (ROOT / "catalogue" / "__init__.py").read_text() == ""


def test_the_core_imports_without_django():
    program = """
import importlib, pkgutil, sys
sys.modules["django"] = None  # from here on, `import django` fails
import catalogue.core
names = [found.name for found in pkgutil.walk_packages(catalogue.core.__path__, "catalogue.core.")]
for name in names:
    importlib.import_module(name)
print(*names)
"""
    run = subprocess.run([sys.executable, "-c", program], cwd=ROOT, capture_output=True, text=True)

    assert run.stderr == ""
    modules = {module_name(ROOT, path) for path in ROOT.glob("catalogue/core/**/*.py")} - {"catalogue.core"}
    assert set(run.stdout.split()) == modules


def write(root: Path, name: str, text: str) -> None:
    path = root / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8")


def test_a_forbidden_import_is_named_with_file_and_line(tmp_path):
    write(tmp_path, "catalogue/core/bounds.py", "import math\nfrom django.db import models\nimport os.path\n")
    write(tmp_path, "catalogue/core/deep/nets.py", "from ...models import Cable\nfrom ..bounds import half\n")
    write(tmp_path, "catalogue/drawing/rail.py", "def draw():\n    import django.conf\n")
    write(tmp_path, "catalogue/views/cable.py", "from catalogue import models, usecases\n")
    write(tmp_path, "catalogue/usecases/maps.py", "from django.http import HttpResponse\n")

    assert violations(tmp_path) == [
        "catalogue/core/bounds.py:2: catalogue.core may not import django.db.models",
        "catalogue/core/bounds.py:3: catalogue.core may not import os.path",
        "catalogue/core/deep/nets.py:1: catalogue.core may not import catalogue.models.Cable",
        "catalogue/drawing/rail.py:2: catalogue.drawing may not import django.conf",
        "catalogue/usecases/maps.py:1: catalogue.usecases may not import django.http.HttpResponse",
        "catalogue/views/cable.py:1: catalogue.views may not import catalogue.models",
    ]


def test_files_clock_and_unseeded_chance_are_named_in_the_core(tmp_path):
    write(
        tmp_path,
        "catalogue/core/bounds.py",
        """
import datetime
import numpy as np
from numpy.random import default_rng

def measured(path, seed):
    good = [default_rng(seed), np.random.default_rng(seed).normal()]
    unseeded = [default_rng(), np.random.default_rng()]
    of_all = np.random.normal()
    now = datetime.datetime.now()
    return open(path), np.loadtxt(path)
""",
    )

    assert violations(tmp_path) == [
        "catalogue/core/bounds.py:8: pure code may not use default_rng() without a seed",
        "catalogue/core/bounds.py:8: pure code may not use np.random.default_rng() without a seed",
        "catalogue/core/bounds.py:9: pure code may not use np.random.normal",
        "catalogue/core/bounds.py:10: pure code may not use datetime.datetime.now()",
        "catalogue/core/bounds.py:11: pure code may not use np.loadtxt()",
        "catalogue/core/bounds.py:11: pure code may not use open()",
    ]


def test_a_module_that_no_part_owns_is_named(tmp_path):
    write(tmp_path, "catalogue/__init__.py", "")
    write(tmp_path, "catalogue/helpers.py", "answer = 42\n")

    assert violations(tmp_path) == ["catalogue/helpers.py:1: belongs to no part of the table"]


def test_only_the_rendering_file_may_run_graphviz(tmp_path):
    write(tmp_path, "catalogue/drawing/render.py", "import subprocess\n")
    write(tmp_path, "catalogue/drawing/face.py", "import subprocess\n")

    assert violations(tmp_path) == ["catalogue/drawing/face.py:1: catalogue.drawing may not import subprocess"]
