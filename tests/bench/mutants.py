"""Break the program on purpose, a little at a time, and see which tests find out.

    python tests/bench/mutants.py --sample 20 --seed 1 cfgmigrate/store/transaction.py tests/store tests/apply

One mutant is one small change of one module: a comparison turned round, `and` for `or`, a condition that always or
never holds, a number one larger, a statement left out. Each is tried on a copy of the package with the tests that are
named, the nearest ones. What no test finds out is printed with its line, to be read by a person: it is a hole, or it
changes nothing (an equivalent), or only a text.

This is a tool and no test: pytest does not collect it. Words of messages are never changed.
"""

from __future__ import annotations

import argparse
import ast
import copy
import os
import random
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[2]
TURNED: dict[type[ast.cmpop], type[ast.cmpop]] = {
    ast.Eq: ast.NotEq, ast.NotEq: ast.Eq, ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt,
    ast.In: ast.NotIn, ast.NotIn: ast.In, ast.Is: ast.IsNot, ast.IsNot: ast.Is,
}  # fmt: skip
SUMS: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult,
}  # fmt: skip


@dataclass(frozen=True)
class Mutant:
    """A change of a module: where, what, and the module's whole text with it."""

    line: int
    what: str
    source: str


def mutants(source: str) -> Iterator[Mutant]:
    """Every mutant of a module's text."""
    tree = ast.parse(source)
    for at, node in enumerate(ast.walk(tree)):
        for change in _changes(node):
            other = copy.deepcopy(tree)
            twin = next(each for number, each in enumerate(ast.walk(other)) if number == at)
            before = ast.unparse(twin)
            _apply(twin, change)
            after = ast.unparse(twin)
            line = getattr(node, "lineno", 0)
            if before != after and line:
                yield Mutant(line, f"{before.splitlines()[0]}  →  {change}", ast.unparse(other))


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


def survives(module: Path, mutant: Mutant, tests: list[str], folder: Path, seconds: int) -> bool:
    """Whether all tests pass with a mutant in the copy of the package in `folder`."""
    target = folder / module
    real = target.read_bytes()
    target.write_text(mutant.source, encoding="utf-8")
    command = [sys.executable, "-B", "-m", "pytest", "-q", "-x", "-p", "no:cacheprovider", *tests]
    environment = {**os.environ, "PYTHONPATH": str(folder), "HYPOTHESIS_PROFILE": "quick"}
    try:
        done = subprocess.run(
            command, cwd=folder, env=environment, capture_output=True, timeout=seconds, check=False
        )
        return done.returncode == 0
    except subprocess.TimeoutExpired:
        return False
    finally:
        target.write_bytes(real)


def main() -> int:
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("module", type=Path)
    asked.add_argument("tests", nargs="+")
    asked.add_argument("--sample", type=int, default=20)
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument(
        "--seconds", type=int, default=300, help="a mutant that runs on for so long counts as caught"
    )
    given = asked.parse_args()
    found = list(mutants((ROOT / given.module).read_text(encoding="utf-8")))
    chosen = random.Random(given.seed).sample(found, min(given.sample, len(found)))
    with tempfile.TemporaryDirectory(prefix="mutants-") as place:
        folder = Path(place)
        shutil.copytree(
            ROOT / "cfgmigrate",
            folder / "cfgmigrate",
            ignore=shutil.ignore_patterns("__pycache__", ".compiled"),
        )
        for name in ("tests", "grammars", "sample_configs", "pyproject.toml", "README.md", ".ci"):
            if (ROOT / name).is_dir():
                shutil.copytree(ROOT / name, folder / name, ignore=shutil.ignore_patterns("__pycache__"))
            elif (ROOT / name).exists():
                shutil.copy(ROOT / name, folder / name)
        alive = 0
        for mutant in sorted(chosen, key=lambda each: each.line):
            if survives(given.module, mutant, given.tests, folder, given.seconds):
                alive += 1
                print(f"{given.module}:{mutant.line}: survives: {mutant.what}", flush=True)
    print(f"{given.module}: {len(chosen) - alive} of {len(chosen)} caught (of {len(found)} there are)")
    return 0


if __name__ == "__main__":
    sys.exit(main())
