"""Which modules a board file makes use of, from the sources.

Board files share functions that each import a driver where they are called, so that a driver which no call reaches is
not needed on the board. In a board file, therefore, only what `assemble` reaches counts: the functions that it names,
and their defaults where no argument takes their place. Of any other module everything that it imports counts.
"""

import ast
from collections.abc import Callable, Iterator
from pathlib import Path

BOARDS = "scalewright_device.boards"


class Reached:
    """The modules that have been reached, dotted name → file.

    find: returns the file of a module by its dotted name; None where that is none of the project's.
    """

    def __init__(self, find: Callable[[str], Path | None]) -> None:
        self.files: dict[str, Path] = {}
        self._find = find
        self._board_files: dict[str, _BoardFile] = {}
        self._followed: set[tuple[str, str, frozenset[str]]] = set()

    def take_board(self, module: str) -> None:
        """Take a board file with all that its `assemble` reaches."""
        self.take(module)
        self._follow(module, "assemble", frozenset())

    def take(self, name: str) -> None:
        """Take what is imported as `name`, a module or something in one, with its packages and what they import."""
        parts = name.split(".")
        for module in (".".join(parts[: k + 1]) for k in range(len(parts))):
            file = self._find(module)
            if file is None:
                return
            if module not in self.files:
                self.files[module] = file
                self._read(module, ast.parse(file.read_text(encoding="utf-8"), str(file)))

    def _read(self, module: str, tree: ast.Module) -> None:
        if not module.startswith(f"{BOARDS}."):
            for name in imports_in(tree):
                self.take(name)
            return
        self._board_files[module] = _BoardFile(tree)
        for statement in tree.body:
            if not isinstance(statement, ast.FunctionDef):
                self._visit(statement, module)

    def _visit(self, node: ast.AST, module: str) -> None:
        match node:
            case ast.Import() | ast.ImportFrom():
                for name in imports_in(node):
                    self.take(name)
            case ast.Call(func=function, args=arguments, keywords=keywords) if target := self._target(function, module):
                self._follow(*target, self._given(*target, node))
                for child in (*arguments, *keywords):
                    self._visit(child, module)
            case ast.Name() | ast.Attribute() if target := self._target(node, module):
                self._follow(*target, frozenset())
            case _:
                for child in ast.iter_child_nodes(node):
                    self._visit(child, module)

    def _target(self, node: ast.AST, module: str) -> tuple[str, str] | None:
        """Return module and name of the function that an expression names, if it is one in a board file."""
        match node:
            case ast.Name(id=name):
                pass
            case ast.Attribute(value=ast.Name(id=alias), attr=name):
                module = self._board_files[module].aliases.get(alias, "")
            case _:
                return None
        is_known = module in self._board_files and name in self._board_files[module].functions
        return (module, name) if is_known else None

    def _given(self, module: str, function: str, call: ast.Call) -> frozenset[str]:
        """Return the parameters that a call gives a value."""
        parameters = self._board_files[module].functions[function].args.args
        by_place = {parameter.arg for parameter, _ in zip(parameters, call.args, strict=False)}
        return frozenset(by_place | {keyword.arg for keyword in call.keywords if keyword.arg})

    def _follow(self, module: str, function: str, given: frozenset[str]) -> None:
        """Visit a function as it is called with those parameters given."""
        if (module, function, given) in self._followed:
            return
        self._followed.add((module, function, given))
        definition = self._board_files[module].functions[function]
        parameters = definition.args.args[len(definition.args.args) - len(definition.args.defaults) :]
        for parameter, default in zip(parameters, definition.args.defaults, strict=True):
            if parameter.arg not in given:
                self._visit(default, module)
        for node in (*definition.decorator_list, *definition.args.kw_defaults, *definition.body):
            if node is not None:
                self._visit(node, module)


class _BoardFile:
    """The functions of a board file, and the names by which it knows modules."""

    def __init__(self, tree: ast.Module) -> None:
        self.functions = {node.name: node for node in tree.body if isinstance(node, ast.FunctionDef)}
        self.aliases: dict[str, str] = {}
        for node in ast.walk(tree):
            match node:
                case ast.ImportFrom(module=str(module), names=names):
                    self.aliases |= {alias.asname or alias.name: f"{module}.{alias.name}" for alias in names}


def imports_in(tree: ast.AST) -> Iterator[str]:
    """Yield the dotted name of everything that is imported, wherever; each may be a module or a name in one."""
    for node in ast.walk(tree):
        match node:
            case ast.Import(names=names):
                yield from (alias.name for alias in names)
            case ast.ImportFrom(module=str(module), names=names):
                yield from (f"{module}.{alias.name}" for alias in names)
