"""The house: imports run downward only, and the computing half knows nothing of the web."""

import ast
from collections.abc import Iterable, Iterator
from graphlib import TopologicalSorter
from pathlib import Path

import pytest

HOUSE = Path(__file__).parents[2]
# Each stage may import those before it. `calc` itself (plan) comes after the stages; drawing and papers after that.
STAGES = (
    "units", "tables", "records", "reading", "distances", "shell", "families", "laid",
    "shared", "frozen", "stock", "taped", "making", "duty", "sheet", "seams", "turns", "shrinkage",
    "outlines", "blank", "bends", "flat", "alike", "unfold", "swinging",
    "marking", "folding", "layout", "cut_list", "cut_words", "joins", "budget", "drainage", "stiffness", "sharing", "welding",
    "takeoff", "steps", "workload", "costing", "balance", "advice", "", "comparing", "fitup", "aperture", "learning",
    "drawing", "papers", "at_work",
)  # fmt: skip
FOR_VIEWS = {"drawing", "papers"}


def modules(folder: str) -> list[Path]:
    return sorted(path for path in (HOUSE / folder).rglob("*.py") if "migrations" not in path.parts)


def imports(path: Path) -> Iterator[str]:
    """Every module a file imports, wherever in the file; a name that is a module counts as one."""
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Import):
            yield from (name.name for name in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: relative import"
            for name in node.names:
                inner = (HOUSE / (node.module or "").replace(".", "/") / name.name).with_suffix("")
                yield (
                    f"{node.module}.{name.name}"
                    if inner.is_dir() or inner.with_suffix(".py").is_file()
                    else str(node.module)
                )


def stage_of(module: str) -> int | None:
    """The place of a calc module in the order of the stages; None for what is not calc."""
    first, *rest = module.split(".")
    return STAGES.index(rest[0] if rest else "") if first == "calc" else None


def own_name(path: Path) -> str:
    parts = path.relative_to(HOUSE).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def run_at_import(body: Iterable[ast.stmt]) -> Iterator[ast.stmt]:
    """The statements that run when a module is imported; what is for types alone does not."""
    for node in body:
        if isinstance(node, ast.Try):
            yield from run_at_import(node.body)
        elif not isinstance(node, ast.If) or "TYPE_CHECKING" not in ast.dump(node.test):
            yield node


def loads(path: Path, ours: set[str]) -> set[str]:
    """The modules of ours that must be loaded before this one: with each the packages that it is in, but for those that both
    are in, whose loading has begun."""
    own = f"{own_name(path)}."
    body = ast.Module(list(run_at_import(ast.parse(path.read_text()).body)), [])
    named = {
        f"{node.module}.{name.name}" if isinstance(node, ast.ImportFrom) else name.name
        for node in body.body
        if isinstance(node, (ast.Import, ast.ImportFrom))
        for name in node.names
    }
    parts = [name.split(".") for name in named]
    within = {".".join(each[:end]) for each in parts for end in range(1, len(each) + 1)}
    return {name for name in within & ours if not own.startswith(f"{name}.")}


def test_no_import_runs_in_a_circle() -> None:
    """Which module is asked for first hangs on who asks: in a circle one of them finds another half loaded."""
    paths = {own_name(path): path for folder in ("calc", "fabjobs") for path in modules(folder)}
    needs = {name: loads(path, set(paths)) for name, path in paths.items()}
    order = list(TopologicalSorter(needs).static_order())  # raises CycleError, which names the circle
    assert len(order) == len(paths)


@pytest.mark.parametrize("path", modules("calc"), ids=own_name)
def test_calc_imports_only_earlier_stages(path: Path) -> None:
    own = stage_of(own_name(path))
    assert own is not None
    for module in imports(path):
        assert module.split(".")[0] not in {"django", "fabjobs", "random", "time"} or own_name(path).startswith(
            "calc.layout"
        )
        assert module.split(".")[0] not in {"django", "fabjobs", "time"}
        other = stage_of(module)
        assert other is None or other <= own, f"{own_name(path)} imports {module}"


@pytest.mark.parametrize("path", modules("fabjobs/views"), ids=own_name)
def test_views_compute_nothing(path: Path) -> None:
    for module in imports(path):
        if module.split(".")[0] == "calc":
            assert module.removeprefix("calc").strip(".").split(".")[0] in FOR_VIEWS, (
                f"{own_name(path)} imports {module}"
            )


def test_there_is_something_to_check() -> None:
    assert len(modules("calc")) > 20
    assert len(modules("fabjobs/views")) > 2


def test_top_level_holds_what_the_house_allows() -> None:
    allowed = {"README.md", "DEVELOPERS.md", "manage.py", "requirements.txt", "fabjobs", "calc", "templates", "tests"}
    found = {path.name for path in HOUSE.iterdir() if not path.name.startswith(".")}
    assert found <= allowed
