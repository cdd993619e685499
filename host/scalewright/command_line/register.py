"""`scalewright register`: the scales, mass sets and instruments there are, what is known of them, and was before."""

import argparse
import json
from dataclasses import asdict
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from scalewright.command_line import instruments, masses, scales
from scalewright.equipment import STATES
from scalewright.errors import InputError
from scalewright.records import DEFAULT_FILE
from scalewright.register_fields import Field, Values, read_fields, texts_of

if TYPE_CHECKING:
    from scalewright.records.journal import Journal

_REGISTERS: dict[str, Any] = {"scale": scales, "masses": masses, "instrument": instruments}
"""what a person types -> the module that knows the fields, the files and the words of that register"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the registers, and what can be done with each."""
    registers = parser.add_subparsers(dest="register", metavar="REGISTER", required=True)
    for name, module in _REGISTERS.items():
        register = registers.add_parser(name, help=module.HELP, description=f"Register of {module.HELP}.")
        _add_actions(register.add_subparsers(dest="action", metavar="ACTION", required=True), module)


def run(arguments: argparse.Namespace) -> int:
    """Do it and report."""
    from scalewright.records.journal import Journal

    reads_only = arguments.act in (_list, _show, _export)
    with Journal(arguments.records, read_only=reads_only) as journal:
        result, report = arguments.act(journal, _REGISTERS[arguments.register], arguments)
    print(json.dumps(result, default=_as_json) if arguments.json else report)
    return 0


def _add_actions(actions: Any, module: Any) -> None:
    listing = _action(actions, "list", "what is in use", _list)
    listing.add_argument("--all", action="store_true", help="what is retired too")
    show = _action(actions, "show", "one of them, and how it came to be so", _show, "KEY")
    adding = _action(actions, "add", "register a new one by options, or what is in a file", _add, "KEY?")
    change = _action(actions, "change", "change what is given and keep the rest", _change, "KEY?")
    retire = _action(actions, "retire", "take it out of use; it stays in the records", _retire, "KEY")
    export = _action(actions, "export", "write it to a file that add --from reads", _export, module.EXPORTED)
    export.add_argument("--to", required=True, metavar="FILE", help="CSV file to write")
    for action in (adding, change):
        action.add_argument("--from", dest="file", metavar="FILE", help=module.FILE_HELP)
        for field in module.FIELDS:
            if field.option:
                action.add_argument(field.option, dest=field.name, metavar="TEXT", help=field.help)
    for action in (adding, change, retire):
        action.add_argument("--by", required=True, metavar="INITIALS", help="who says so: 2 to 4 letters")
        action.add_argument("--why", required=True, metavar="TEXT", help="why, in a line")
    module.add_own_arguments(show, adding, change)


def _action(actions: Any, name: str, words: str, act: Any, key: str = "") -> argparse.ArgumentParser:
    description = f"{words[0].upper()}{words[1:]}."
    action: argparse.ArgumentParser = actions.add_parser(name, help=words, description=description)
    if key:
        action.add_argument("key", metavar="KEY", help="what it is called here", nargs="?" if key == "KEY?" else None)
    action.add_argument("--records", default=DEFAULT_FILE, metavar="FILE", help="the journal the registers are kept in")
    action.add_argument("--json", action="store_true", help="print one JSON object")
    action.set_defaults(act=act)
    return action


def _list(journal: "Journal", module: Any, arguments: argparse.Namespace) -> tuple[Any, str]:
    from scalewright.records.registers import items

    found = items(journal, module.KIND, retired=arguments.all)
    lines = [f"{key:16}  {module.line(item)}{_state(item)}" for key, item in found.items()]
    return {"items": [asdict(item) for item in found.values()]}, "\n".join(lines) or "none yet"


def _show(journal: "Journal", module: Any, arguments: argparse.Namespace) -> tuple[Any, str]:
    from scalewright.records.registers import find, history

    item = find(journal, module.KIND, arguments.key)
    before = history(journal, module.KIND, arguments.key)
    facts, lines = module.details(journal, item, arguments)
    texts = texts_of(item)
    stated = [f"  {field.name:18}{texts[field.name]}" for field in module.FIELDS if texts[field.name]]
    told = [f"  {each.at[:10]}  {each.by:4}  {each.why}" for each in before]
    result = {"item": asdict(item), **facts, "history": [asdict(each) for each in before]}
    return result, "\n".join([f"{item.key}{_state(item)}", *stated, *lines, "entries:", *told])


def _add(journal: "Journal", module: Any, arguments: argparse.Namespace) -> tuple[Any, str]:
    from scalewright.records.registers import add

    new = _from_file(module, arguments) or [module.item_of(_given(module, arguments))]
    return _report(new, add(journal, new, arguments.by, arguments.why))


def _change(journal: "Journal", module: Any, arguments: argparse.Namespace) -> tuple[Any, str]:
    from scalewright.records.registers import change, find

    changed = _from_file(module, arguments)
    if not changed:
        before = find(journal, module.KIND, arguments.key)
        changed = [module.item_of(_given(module, arguments), before)]
    return _report(changed, change(journal, changed, arguments.by, arguments.why))


def _retire(journal: "Journal", module: Any, arguments: argparse.Namespace) -> tuple[Any, str]:
    from scalewright.records.registers import find, retire

    entry = retire(journal, module.KIND, arguments.key, arguments.by, arguments.why)
    return _report([find(journal, module.KIND, arguments.key)], [entry])


def _export(journal: "Journal", module: Any, arguments: argparse.Namespace) -> tuple[Any, str]:
    from scalewright.records.registers import find, items
    from scalewright.table_file import replace_file

    found = [find(journal, module.KIND, arguments.key)] if module.EXPORTED else items(journal, module.KIND).values()
    if not found:
        raise InputError("nothing is registered yet")
    replace_file(arguments.to, module.render(list(found)))
    keys = [item.key for item in found]
    return {"file": arguments.to, "keys": keys}, f"{', '.join(keys)} written to {arguments.to}"


def _from_file(module: Any, arguments: argparse.Namespace) -> list[Any]:
    """Return what is in the file that was named; nothing where a key was given instead."""
    options = _options(module, arguments)
    if (arguments.key is None) == (arguments.file is None) or (arguments.file and options):
        raise InputError("expected KEY with options, or --from FILE without")
    return list(module.read_file(arguments.file)) if arguments.file else []


def _given(module: Any, arguments: argparse.Namespace) -> Values:
    """Return the values of the options that were given."""
    texts = {field.name: getattr(arguments, field.name) for field in _options(module, arguments)}

    def problem(field: Field, message: str) -> InputError:
        return InputError(f"{field.option}: {message}")

    values = read_fields(module.FIELDS, {"key": arguments.key, **texts}, problem)
    return {**module.seen(arguments), **values}


def _options(module: Any, arguments: argparse.Namespace) -> list[Field]:
    return [field for field in module.FIELDS if field.option and getattr(arguments, field.name) is not None]


def _report(items: list[Any], entries: Any) -> tuple[Any, str]:
    told = [f"{item.key}{_state(item)}: entry {entry.seq}" for item, entry in zip(items, entries, strict=True)]
    return {"items": [asdict(item) for item in items], "entries": [entry.seq for entry in entries]}, "\n".join(told)


def _state(item: Any) -> str:
    return "" if item.state == STATES[0] else f" ({item.state})"


def _as_json(value: object) -> object:
    if isinstance(value, Decimal | Fraction):
        return float(value)
    if isinstance(value, date):
        return value.isoformat()
    raise TypeError(f"{value!r} cannot be written as JSON")
