"""Which functions, classes and methods of the sums does the product not use?

`python .ci/unused_sums.py [ROOT]` reads the program's text, prints what no product code outside
the sums reaches, one line each, and ends with 1; with nothing to print it tells how many it looked
at and ends with 0. Tests and benches are no product: a rule that only they call guards nobody.

Reached is what product code outside names, and what that names in turn. A name counts where it is
bound by an import or in its own file, so a mention in `__all__` or another thing of the same name
is no use of it. A method counts by its name alone, since types are not known here: one that shares
its name with something in use elsewhere is not found.
"""

import ast
import sys
from collections.abc import Iterable, Iterator
from pathlib import Path

SUMS = "daq.metrology"
PRODUCT = ("daq", "drivers", "simulator")

Definition = ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef
Node = tuple[str, str]
"""A module and a name at its top, or `Class.method`."""


class Module:
    """One file of the program: what it defines at its top, what it imports under which name."""

    def __init__(self, name: str, tree: ast.Module) -> None:
        self.name = name
        self.tree = tree
        self.imported: dict[str, tuple[str, str | None]] = {}
        for node in ast.walk(tree):
            if isinstance(node, ast.ImportFrom) and node.module and not node.level:
                for alias in node.names:
                    self.imported[alias.asname or alias.name] = (node.module, alias.name)
            elif isinstance(node, ast.Import):
                for alias in node.names:
                    if alias.asname:
                        self.imported[alias.asname] = (alias.name, None)
        self.parts: dict[str, list[ast.AST]] = {}
        """What belongs to each name: a definition, or the statements that give it a value."""
        self.methods: dict[str, list[str]] = {}
        self.rest: list[ast.AST] = []
        for statement in tree.body:
            self._place(statement)

    def _place(self, statement: ast.stmt) -> None:
        if isinstance(statement, ast.ClassDef):
            self._place_class(statement)
        elif isinstance(statement, Definition):
            self.parts.setdefault(statement.name, []).append(statement)
        elif isinstance(statement, ast.Assign | ast.AnnAssign):
            for name in _stored(statement):
                self.parts.setdefault(name, []).append(statement)
        elif not isinstance(statement, ast.Import | ast.ImportFrom):
            self.rest.append(statement)

    def _place_class(self, found: ast.ClassDef) -> None:
        own: list[ast.AST] = [*found.bases, *found.keywords, *found.decorator_list]
        self.methods[found.name] = []
        for each in found.body:
            if isinstance(each, ast.FunctionDef) and not _is_special(each.name):
                self.methods[found.name].append(each.name)
                self.parts.setdefault(f"{found.name}.{each.name}", []).append(each)
            else:
                own.append(each)
        self.parts[found.name] = own

    @property
    def defined(self) -> Iterator[Node]:
        """Its functions, classes and methods."""
        for statement in self.tree.body:
            if isinstance(statement, Definition):
                yield self.name, statement.name
        for owner, methods in self.methods.items():
            for method in methods:
                yield self.name, f"{owner}.{method}"


def _is_special(name: str) -> bool:
    """Called by the language itself."""
    return name.startswith("__") and name.endswith("__")


def _stored(node: ast.AST) -> set[str]:
    """Names that are bound in it: by assignment, as an argument, by a loop."""
    found = {
        each.id
        for each in ast.walk(node)
        if isinstance(each, ast.Name) and isinstance(each.ctx, ast.Store)
    }
    return found | {each.arg for each in ast.walk(node) if isinstance(each, ast.arg)}


def _dotted(node: ast.AST) -> str:
    """`a.b.c` as text; empty for another expression."""
    if isinstance(node, ast.Name):
        return node.id
    if isinstance(node, ast.Attribute) and (before := _dotted(node.value)):
        return f"{before}.{node.attr}"
    return ""


class Program:
    """All product files, those of the sums apart."""

    def __init__(self, root: Path) -> None:
        every = [
            Module(_name(file, root), ast.parse(file.read_text(encoding="utf-8")))
            for top in PRODUCT
            for file in sorted((root / top).rglob("*.py"))
        ]
        self.modules = {module.name: module for module in every}
        self.sums = [module for module in every if _is_sums(module.name)]
        self.outside = [module for module in every if not _is_sums(module.name)]

    def unused(self) -> list[Node]:
        """What product code outside the sums does not reach, in the order of the files."""
        reached: set[Node] = set()
        attributes: set[str] = set()
        waiting: list[Node] = []
        for module in self.outside:
            self._follow(module, [module.tree], set(), waiting, attributes)
            waiting += [(source, name) for source, name in module.imported.values() if name]
        for module in self.sums:
            self._follow(module, module.rest, set(), waiting, attributes)
        while True:
            while waiting:
                found = self._home(*waiting.pop())
                if found is None or found in reached:
                    continue
                reached.add(found)
                module = self.modules[found[0]]
                for part in module.parts[found[1]]:
                    is_scope = isinstance(part, ast.FunctionDef | ast.AsyncFunctionDef)
                    local = _stored(part) if is_scope else set()
                    self._follow(module, [part], local, waiting, attributes)
            waiting += self._by_attribute(reached, attributes)
            if not waiting:
                break
        return [node for module in self.sums for node in module.defined if node not in reached]

    def _by_attribute(self, reached: set[Node], attributes: set[str]) -> list[Node]:
        """Methods of reached classes whose names are asked for somewhere."""
        return [
            (module.name, f"{owner}.{method}")
            for module in self.sums
            for owner, methods in module.methods.items()
            if (module.name, owner) in reached
            for method in methods
            if method in attributes and (module.name, f"{owner}.{method}") not in reached
        ]

    def _follow(
        self,
        module: Module,
        parts: Iterable[ast.AST],
        local: set[str],
        waiting: list[Node],
        attributes: set[str],
    ) -> None:
        """Note what a piece of code names."""
        for part in parts:
            for node in ast.walk(part):
                if isinstance(node, ast.Name) and node.id not in local:
                    if not isinstance(node.ctx, ast.Store):
                        waiting.append((module.name, node.id))
                elif isinstance(node, ast.Attribute):
                    attributes.add(node.attr)
                    of, _, name = _dotted(node).rpartition(".")
                    source, inner = module.imported.get(of, (of, None))
                    waiting.append((f"{source}.{inner}" if inner else source, name))

    def _home(self, module: str, name: str) -> Node | None:
        """Where in the sums a name is defined, through imports; None for anything else."""
        seen = set()
        while (module, name) not in seen:
            seen.add((module, name))
            file = self.modules.get(module)
            if file is None:
                return None
            if name in file.parts:
                return (module, name) if _is_sums(module) else None
            source, inner = file.imported.get(name, ("", None))
            if inner is None:
                return None
            module, name = source, inner
        return None


def _is_sums(module: str) -> bool:
    return module == SUMS or module.startswith(f"{SUMS}.")


def _name(file: Path, root: Path) -> str:
    parts = file.relative_to(root).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def main(root: Path) -> int:
    """Print what is found; how the command ends."""
    program = Program(root)
    count = sum(1 for module in program.sums for _ in module.defined)
    if not count:
        print(f"no sums found under {root / SUMS.replace('.', '/')}")
        return 1
    found = program.unused()
    for module, name in found:
        print(f"{module}: {name} is not used by the product")
    if not found:
        print(f"{count} functions, classes and methods of {SUMS}, all used by the product")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parents[1]))
