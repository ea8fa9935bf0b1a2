"""The kit's own source as the house rules see it: modules, their imports and their functions."""

import ast
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
PACKAGE = ROOT / "kit" / "shouldread"


@dataclass(frozen=True, slots=True)
class Import:
    """One imported module: where, by what name, and whether inside a function."""

    module: "Module"
    target: str
    line: int
    function: str  # "" at the top of the module

    def __str__(self) -> str:
        return f"{self.module.name}:{self.line} imports {self.target}"

    def is_of(self, package: str) -> bool:
        return self.target == package or self.target.startswith(package + ".")


@dataclass(frozen=True, slots=True)
class Module:
    """A source file of the kit."""

    path: Path
    text: str

    @property
    def name(self) -> str:
        parts = self.path.relative_to(PACKAGE.parent).with_suffix("").parts
        return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)

    @property
    def room(self) -> str:
        """The room's name; empty for what stands at the front door."""
        parts = self.path.relative_to(PACKAGE).parts
        return parts[0] if len(parts) > 1 else ""

    def functions(self) -> Iterator[ast.FunctionDef | ast.AsyncFunctionDef]:
        for node in ast.walk(ast.parse(self.text)):
            if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
                yield node

    def imports(self) -> Iterator[Import]:
        yield from self._imports(ast.parse(self.text), "")

    def _imports(self, node: ast.AST, function: str) -> Iterator[Import]:
        for child in ast.iter_child_nodes(node):
            if isinstance(child, ast.If) and ast.unparse(child.test) == "TYPE_CHECKING":
                continue  # read by the type checker, never run
            if isinstance(child, ast.Import):
                for alias in child.names:
                    yield Import(self, alias.name, child.lineno, function)
            elif isinstance(child, ast.ImportFrom):
                yield Import(self, self._absolute(child), child.lineno, function)
            inner = child.name if isinstance(child, ast.FunctionDef | ast.AsyncFunctionDef) else function
            yield from self._imports(child, inner)

    def _absolute(self, node: ast.ImportFrom) -> str:
        if not node.level:
            return node.module or ""
        package = self.name.split(".") if self.path.name == "__init__.py" else self.name.split(".")[:-1]
        package = package[: len(package) - (node.level - 1)]
        return ".".join([*package, *filter(None, [node.module])])


def modules() -> list[Module]:
    """Every Python file of the kit."""
    return [Module(path, path.read_text(encoding="utf-8")) for path in sorted(PACKAGE.rglob("*.py"))]
