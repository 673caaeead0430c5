"""Break the program on purpose, a little at a time, and see which tests find out.

    python tests/bench/mutants.py --each 12 --seed 7 cfgmigrate/store cfgmigrate/apply/revert.py
    python tests/bench/mutants.py --sample 30 --seed 8 cfgmigrate/{apply,store,packet,files,machine,rules}

One mutant is one small change of one module: a comparison turned round, `and` for `or`, a condition that always or
never holds, a number one larger, a statement left out. Words of messages are never changed. Each is tried with the
nearest tests: the module's own file of tests and those of its room that import it, else those of the modules that use it
(or `--tests`). With `--room`, what these let pass is tried again with every test of the module's room, with `--wide` also
with those that go through the whole program (WIDE). What no test finds out is printed with its line, to be read by a person: it is a
hole, or it changes nothing (an equivalent), or only a text.

Counted as caught: a test failed, or ran on past `--seconds`, or the process died. A mutant that can't even be imported
is told apart, since no test had to look. The tests run in a copy of the tree, in a fork of this process, which has
imported beforehand what the mutant can't have changed: other people's libraries, and the rooms below the module's
(pyproject.toml keeps the rooms from importing upwards). The mutant lies in the copy as a file, so that commands which a
test starts run it too. The tests, of the whole room or those that are named, must
pass without a mutant first, else nothing is said.

This is a tool and no test: pytest does not collect it.
"""

from __future__ import annotations

import argparse
import ast
import contextlib
import copy
import importlib
import itertools
import os
import random
import re
import shutil
import signal
import sys
import tempfile
import time
import tomllib
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

ROOT = Path(__file__).parents[2]
WIDE = ("tests/cli/test_cli.py",)
TURNED: dict[type[ast.cmpop], type[ast.cmpop]] = {
    ast.Eq: ast.NotEq, ast.NotEq: ast.Eq, ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt,
    ast.In: ast.NotIn, ast.NotIn: ast.In, ast.Is: ast.IsNot, ast.IsNot: ast.Is,
}  # fmt: skip
SUMS: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult,
}  # fmt: skip


@dataclass(frozen=True)
class Mutant:
    """A change of a module: which node in the order of `ast.walk`, and which change of it."""

    module: str
    node: int
    change: str


def mutants(module: str) -> Iterator[Mutant]:
    """Every mutant of a module."""
    for at, node in enumerate(ast.walk(_tree(module))):
        for change in _changes(node):
            yield Mutant(module, at, change)


def carried_out(mutant: Mutant) -> tuple[int, str, str] | None:
    """The line, what was there and the module's whole text with a mutant; None where it changes no letter."""
    tree = copy.deepcopy(_tree(mutant.module))
    twin = next(each for number, each in enumerate(ast.walk(tree)) if number == mutant.node)
    before = ast.unparse(twin)
    _apply(twin, mutant.change)
    if ast.unparse(twin) == before:
        return None
    place = twin.target if isinstance(twin, ast.comprehension) else twin
    return getattr(place, "lineno", 0), before.splitlines()[0], ast.unparse(tree)


@cache
def _tree(module: str) -> ast.Module:
    return ast.parse((ROOT / module).read_text(encoding="utf-8"))


def _changes(node: ast.AST) -> Iterator[str]:
    match node:
        case ast.Compare() if type(node.ops[0]) in TURNED:
            yield "turned"
        case ast.BoolOp():
            yield "and/or"
        case ast.BinOp() if type(node.op) in SUMS and not _is_text(node):
            yield "sum"
        case ast.UnaryOp(op=ast.Not()):
            yield "not away"
        case ast.Constant(value=int() as number) if not isinstance(number, bool):
            yield "one more"
        case ast.Constant(value=bool()):
            yield "contrary"
        case ast.If() | ast.IfExp() | ast.While():
            yield "always"
            yield "never"
        case ast.comprehension(ifs=[_, *_]):
            yield "no filter"
    body = getattr(node, "body", None)
    if isinstance(body, list) and not isinstance(node, ast.Module | ast.ClassDef):
        for at, each in enumerate(body):
            call = isinstance(each, ast.Expr) and isinstance(each.value, ast.Call)
            if call or isinstance(each, ast.Raise | ast.AugAssign):
                yield f"without statement {at + 1}"


def _apply(node: ast.AST, change: str) -> None:
    if change == "turned":
        assert isinstance(node, ast.Compare)
        node.ops[0] = TURNED[type(node.ops[0])]()
    elif change == "and/or":
        assert isinstance(node, ast.BoolOp)
        node.op = ast.Or() if isinstance(node.op, ast.And) else ast.And()
    elif change == "sum":
        assert isinstance(node, ast.BinOp)
        node.op = SUMS[type(node.op)]()
    elif change == "not away":
        assert isinstance(node, ast.UnaryOp)
        node.op, node.operand = ast.Not(), ast.UnaryOp(ast.Not(), node.operand)
    elif change in ("one more", "contrary"):
        assert isinstance(node, ast.Constant)
        node.value = not node.value if change == "contrary" else int(node.value) + 1  # type: ignore[call-overload]
    elif change in ("always", "never"):
        assert isinstance(node, ast.If | ast.IfExp | ast.While)
        node.test = ast.Constant(change == "always")
    elif change == "no filter":
        assert isinstance(node, ast.comprehension)
        node.ifs = []
    else:
        body = node.body  # type: ignore[attr-defined]
        body[int(change.rpartition(" ")[2]) - 1] = ast.Pass()


def _is_text(node: ast.BinOp) -> bool:
    return any(
        isinstance(each, ast.JoinedStr) or (isinstance(each, ast.Constant) and isinstance(each.value, str))
        for each in ast.walk(node)
    )


@dataclass(frozen=True)
class Workshop:
    """The copy of the tree that mutants are put into, and how long one may take."""

    folder: Path
    seconds: int

    def try_out(self, module: str, text: str | None, tests: tuple[str, ...]) -> str:
        """What the tests say of a module's text (None: as it is): `survives`, or why it is caught or can't be."""
        target = self.folder / module
        real = target.read_bytes()
        for kept in (target.parent / "__pycache__").glob(f"{target.stem}.*"):
            kept.unlink()
        if text is not None:
            target.write_text(text, encoding="utf-8")
        try:
            return self._forked(module, tests, keep=text is None)
        finally:
            target.write_bytes(real)

    def _forked(self, module: str, tests: tuple[str, ...], keep: bool) -> str:
        scratch = Path(tempfile.mkdtemp(dir=self.folder.parent))
        scratch.chmod(0o755)
        child = os.fork()
        if child == 0:
            with contextlib.suppress(BaseException):
                os._exit(_run(module, tests, scratch, keep))
            os._exit(70)
        ends = time.monotonic() + self.seconds
        try:
            while (found := os.waitpid(child, os.WNOHANG))[0] == 0:
                if time.monotonic() > ends:
                    os.killpg(child, signal.SIGKILL)
                    os.waitpid(child, 0)
                    return "ran on"
                time.sleep(0.01)
        finally:
            said = (scratch / "said").read_text(errors="replace") if (scratch / "said").exists() else ""
            shutil.rmtree(scratch, ignore_errors=True)
        status = os.waitstatus_to_exitcode(found[1])
        if status == 0:
            return "survives"
        if status == 5:
            return "no test"
        if status in (2, 4, 70):
            return "can't be imported"
        failed = re.search(r"^(?:FAILED|ERROR) (\S+)", said, re.M)
        return f"caught by {failed[1]}" if failed else "caught"


def _run(module: str, tests: tuple[str, ...], scratch: Path, keep: bool) -> int:
    """The status of pytest, in the child."""
    import pytest

    os.setsid()
    os.environ["TMPDIR"] = tempfile.tempdir = str(scratch)
    sys.dont_write_bytecode = not keep
    with (scratch / "said").open("w") as said:
        os.dup2(said.fileno(), 1)
        os.dup2(said.fileno(), 2)
    _hand_down(module)
    importlib.import_module(_dotted(module))
    return int(pytest.main(["-q", "-x", "-p", "no:cacheprovider", *tests]))


def _hand_down(module: str) -> None:
    """Give this state of the sources what was compiled of the rooms below the module's, which it can't change."""
    from cfgmigrate.ground import compiled

    compiled.folder.cache_clear()
    for kept in (Path.cwd().parent / "compiled").iterdir():
        if kept.name.split(".")[0] in _below(module):
            shutil.copy(kept, compiled.folder() or "")


def _compile_once() -> None:
    if os.fork() == 0:
        from cfgmigrate.ground.compiled import compile_all

        compile_all(Path.cwd().parent / "compiled")
        os._exit(0)
    if os.wait()[1]:
        sys.exit("what the program knows can't be compiled")


def _dotted(module: str) -> str:
    return module.removesuffix(".py").removesuffix("/__init__").replace("/", ".")


def _room(module: str) -> str:
    return module.split("/")[1].removesuffix(".py")


@cache
def nearest(module: str) -> tuple[str, ...]:
    """The module's own file of tests and those of its room that import it. Where there are none, those of the modules of
    its room that use it, or of those that use them; where there are none either, the whole room."""
    tests = sorted((ROOT / "tests" / _room(module)).glob("test_*.py"))
    beside = sorted((ROOT / module).parent.glob("*.py"))
    seen, users = [module], [module]
    while users:
        own = [each for each in tests for user in users if each.stem == f"test_{Path(user).stem}"]
        found = [
            *own,
            *(each for each in tests for user in users if _imports(each, user) and each not in own),
        ]
        if found:
            return tuple(dict.fromkeys(each.relative_to(ROOT).as_posix() for each in found))
        above = [each for each in beside if any(_imports(each, user) for user in users)]
        users = [each for each in (one.relative_to(ROOT).as_posix() for one in above) if each not in seen]
        seen += users
    return (f"tests/{_room(module)}",)


@cache
def _imports(path: Path, module: str) -> bool:
    name = re.escape(_dotted(module))
    return (
        re.search(rf"\b{name}\b|^from .* import .*\b{Path(module).stem}\b", path.read_text(), re.M)
        is not None
    )


@cache
def _rooms() -> list[str]:
    """The rooms of the package, from the highest to the lowest."""
    contract = tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["importlinter"]["contracts"][0]
    return [each.split(".")[1] for each in contract["layers"]]


def _below(module: str) -> list[str]:
    return _rooms()[_rooms().index(_room(module)) + 1 :]


def preload(module: str) -> None:
    """Import what a change of the module can't touch: other people's libraries and every room below its own."""
    for each in ("pytest", "hypothesis", "hypothesis.strategies"):
        importlib.import_module(each)
    for room in _below(module):
        for path in sorted((ROOT / "cfgmigrate" / room).rglob("*.py")):
            importlib.import_module(_dotted(path.relative_to(ROOT).as_posix()))


def chosen(
    groups: list[list[str]], number: int, seed: int, lines: list[int]
) -> Iterator[tuple[Mutant, int, str, str]]:
    """The mutants to try, `number` of every group of modules, of these lines only if there are any."""
    draw = random.Random(seed)
    for group in groups:
        there = [found for module in group for found in mutants(module)]
        draw.shuffle(there)
        real = (
            (one, *done) for one in there if (done := carried_out(one)) and (not lines or done[0] in lines)
        )
        yield from itertools.islice(real, number)


def main() -> int:
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("places", nargs="+", type=Path, help="modules, or folders of modules")
    asked.add_argument("--tests", nargs="+", help="in place of the nearest ones")
    asked.add_argument("--each", type=int, default=12, help="so many mutants of every module")
    asked.add_argument("--sample", type=int, help="in place of --each: so many of every place that is named")
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--lines", nargs="+", type=int, default=[], help="mutants of these lines only")
    asked.add_argument("--seconds", type=int, default=300, help="what runs on for so long counts as caught")
    asked.add_argument(
        "--room", action="store_true", help="try what survives with the whole room's tests too"
    )
    asked.add_argument("--wide", action="store_true", help="try what survives with wider tests too")
    asked.add_argument("--tell", action="store_true", help="print what is caught too, and by which test")
    given = asked.parse_args()
    places = [_modules(place) for place in given.places]
    groups = places if given.sample else [[module] for place in places for module in place]
    # from the lowest room up: what was imported beforehand for one module must never lie above the next
    tried = sorted(
        chosen(groups, given.sample or given.each, given.seed, given.lines),
        key=lambda found: (-_rooms().index(_room(found[0].module)), found[0].module, found[1]),
    )
    count: dict[str, Counter[str]] = {}
    with tempfile.TemporaryDirectory(prefix="mutants-") as place:
        workshop = Workshop(_copied(Path(place) / "tree"), given.seconds)
        _compile_once()
        for mutant, line, before, text in tried:
            preload(mutant.module)
            near = tuple(given.tests or nearest(mutant.module))
            found = _verdict(workshop, mutant.module, text, near, given.room or given.wide, given.wide)
            if given.tell or found == "survives":
                print(f"{mutant.module}:{line}: {found}: {before}  →  {mutant.change}", flush=True)
            kind = "caught" if found.startswith("caught") else found
            count.setdefault(_room(mutant.module), Counter())[kind] += 1
    for room, kinds in count.items():
        print(f"{room}: " + ", ".join(f"{number} {kind}" for kind, number in sorted(kinds.items())))
    return 0


def _modules(place: Path) -> list[str]:
    files = [place] if place.suffix else sorted(place.rglob("*.py"))
    return [each.resolve().relative_to(ROOT).as_posix() for each in files]


def _verdict(
    workshop: Workshop, module: str, text: str, near: tuple[str, ...], again: bool, wide: bool
) -> str:
    room = (f"tests/{_room(module)}",)
    _must_pass(workshop, module, near if any(not each.startswith(room) for each in near) else room)
    found = workshop.try_out(module, text, near)
    if found == "no test":  # all of them are of the exhaustive tier
        found = workshop.try_out(module, text, room)
    if again and found == "survives":
        wider = (*room, *WIDE) if wide else room
        _must_pass(workshop, module, wider)
        found = workshop.try_out(module, text, wider)
    return found


_passed: set[tuple[str, ...]] = set()


def _must_pass(workshop: Workshop, module: str, tests: tuple[str, ...]) -> None:
    if tests not in _passed and (found := workshop.try_out(module, None, tests)) != "survives":
        sys.exit(f"{' '.join(tests)}: fails without a mutant: {found}")
    _passed.add(tests)


def _copied(folder: Path) -> Path:
    """A copy of the tree, which this process and its children import from now on."""
    unwanted = shutil.ignore_patterns("__pycache__", ".compiled")
    for name in ("cfgmigrate", "tests", "grammars", "sample_configs", ".ci"):
        shutil.copytree(ROOT / name, folder / name, ignore=unwanted)
    for name in ("pyproject.toml", "README.md", "DEVELOPERS.md"):
        shutil.copy(ROOT / name, folder / name)
    (folder.parent / "compiled").mkdir()
    folder.parent.chmod(0o755)  # tests that give up a right must reach it still
    sys.path.insert(0, str(folder))
    os.environ |= {"PYTHONPATH": str(folder), "HYPOTHESIS_PROFILE": "quick"}
    os.chdir(folder)
    return folder


if __name__ == "__main__":
    sys.exit(main())
