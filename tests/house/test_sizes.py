"""Modules and functions stay short enough to be read in one sitting."""

import ast

from tests.house.source import Module, modules

LONGEST_MODULE = 300
LONGEST_FUNCTION = 40
LONGEST_KERNEL = 90  # compiled: one pass over flat arrays, where every part split off would be compiled apart


def body_lines(function: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    """Lines of the body without its docstring."""
    body = function.body
    first = body[0]
    if isinstance(first, ast.Expr) and isinstance(first.value, ast.Constant) and isinstance(first.value.value, str):
        body = body[1:]
    return (body[-1].end_lineno or 0) - body[0].lineno + 1 if body else 0


def longest(function: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    decorators = {node.id for node in function.decorator_list if isinstance(node, ast.Name)}
    return LONGEST_KERNEL if "kernel" in decorators else LONGEST_FUNCTION


def long_functions(module: Module) -> list[str]:
    return [f"{module.name}.{f.name}: {body_lines(f)}" for f in module.functions() if body_lines(f) > longest(f)]


def test_modules_are_short() -> None:
    long = [f"{m.name}: {m.text.count(chr(10))}" for m in modules() if m.text.count("\n") > LONGEST_MODULE]
    assert not long, "\n".join(long)


def test_functions_are_short() -> None:
    long = [line for module in modules() for line in long_functions(module)]
    assert not long, "\n".join(long)
