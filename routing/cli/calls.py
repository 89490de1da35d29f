"""One call of the command: its arguments parsed, its module loaded, its function run."""

from typing import Any, Final

import typer

from routing.cli.commands import COMMANDS, load_command

__all__ = ["DEBUG_VARIABLE", "call_fault", "run_call"]

DEBUG_VARIABLE: Final = "GRIPWAY_DEBUG"
"""Set to 1, an internal fault is shown with its traceback."""

_EPILOG: Final = (
    "Results go to stdout, progress and errors to stderr. Exit code 0: answered and safe. "
    "1: answered, but no route, unsafe, or a finding that blocks. 2: the input or the call is "
    f"wrong. Set {DEBUG_VARIABLE}=1 to see where an internal fault comes from."
)


def run_call(args: list[str]) -> int:
    """Run a command without the exit codes that the option parser has of its own."""
    name = args[0]
    if name in COMMANDS:
        app, called, args = _app_of(name), f"gripway {name}", args[1:]
    else:
        app, called = _app_of_all(), "gripway"
    command: Any = typer.main.get_command(app)
    try:
        with command.make_context(called, args) as context:
            command.invoke(context)
    except typer.Exit as stop:
        return stop.exit_code
    return 0


def _app_of(name: str) -> typer.Typer:
    """Return the app of one command: no other command is imported or built."""
    app = _new_app()
    app.command(name)(load_command(name))
    return app


def _app_of_all() -> typer.Typer:
    """Return the app that lists all commands, or says which one may have been meant."""
    app = _new_app()
    for name, line in COMMANDS.items():
        app.command(name, short_help=line)(_only_listed)
    return app


def _only_listed() -> None:
    raise AssertionError("a command in the table runs from an app of its own")


def _new_app() -> typer.Typer:
    return typer.Typer(
        name="gripway",
        help=(
            "Plan hand-over-hand routes along handrails over the outside of a station. "
            "Planning aid, not certified for flight."
        ),
        epilog=_EPILOG,
        add_completion=False,
        # Plain help: what is typed or read is never taken for markup.
        rich_markup_mode=None,
        context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
    )


def call_fault(error: Exception) -> tuple[str, ...] | None:
    """Return the lines that say what a call got wrong, None for any other error."""
    if not isinstance(error, typer.BadParameter.__bases__[0]):
        return None
    context, message = getattr(error, "ctx", None), getattr(error, "format_message", str)
    usage = () if context is None else (context.get_usage(),)
    said = _option_fault(error) or message()
    command = getattr(context, "command_path", "gripway")
    return (*usage, f"{said}{'' if said.endswith('.') else '.'} See `{command} --help`.")


def _option_fault(error: Exception) -> str | None:
    """Return what is wrong with the value of an option, in our own words where we have any."""
    context, parameter = getattr(error, "ctx", None), getattr(error, "param", None)
    name = str(getattr(context, "info_name", "")).rpartition(" ")[2]
    if type(error) is not typer.BadParameter or parameter is None or name not in COMMANDS:
        return None
    import re

    from routing.cli.option_faults import option_fault

    # One version of the parser tells what was typed in the cause of its error, another in words.
    found: list[Any] = getattr(error.__cause__, "errors", list)()
    worded = re.match(r"'?(.*?)'? is not ", str(getattr(error, "message", "")), re.DOTALL)
    value = found[0]["input"] if found else worded and worded[1]
    return option_fault(load_command(name), parameter.name, parameter.opts[0], value)
