"""Fills a template with a report: jinja2 in a sandbox, so that a template handed on can do no harm. Pure.

In HTML every value is escaped by the template engine; for Markdown every text of the report is escaped
before the template sees it. A user's template gets the same.
"""

from __future__ import annotations

from types import TracebackType
from typing import Any

from jinja2 import FunctionLoader, StrictUndefined, TemplateError, TemplateSyntaxError
from jinja2.sandbox import ImmutableSandboxedEnvironment

from dictate.export import escape
from dictate.publish.report import Report

MAX_TEXT = 20_000_000  # characters; a template in a circle must end


class LayoutError(ValueError):
    """A template that cannot be used; the message begins with its name and the line at fault."""


def filled(template: str, report: Report, *, name: str, html: bool) -> str:
    """The template (named `name` in errors) filled with the report. Raises LayoutError."""

    def load(asked: str) -> tuple[str, str, None]:
        if asked != name:
            raise LayoutError(f"{name}: it asks for “{asked}”; a template is one file")
        return template, name, None

    environment = ImmutableSandboxedEnvironment(
        loader=FunctionLoader(load),
        autoescape=html,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    data = report if html else _escaped(report)
    try:
        parts, size = [], 0
        for part in environment.get_template(name).generate(data):
            parts.append(part)
            size += len(part)
            if size > MAX_TEXT:
                raise LayoutError(f"{name}: it makes more than {MAX_TEXT:,} characters; look for a loop")
        return "".join(parts)
    except LayoutError:
        raise
    except TemplateSyntaxError as error:
        raise LayoutError(f"{name}, line {error.lineno}: {error.message}") from error
    except (
        Exception
    ) as error:  # whatever a template's expressions do: divide by nought, ask for what is not there
        line = _line(error.__traceback__, name)
        told = str(error) if isinstance(error, TemplateError) else f"{error} ({type(error).__name__})"
        raise LayoutError(f"{name}{f', line {line}' if line else ''}: {told}") from error


def _escaped(value: Any) -> Any:
    """All texts of plain data as Markdown that shows just them."""
    if isinstance(value, str):
        return escape(value)
    if isinstance(value, dict):
        return {key: _escaped(item) for key, item in value.items()}
    return [_escaped(item) for item in value] if isinstance(value, list) else value


def _line(trace: TracebackType | None, name: str) -> int:
    """The template's line in a traceback, which the engine rewrites; 0 where there is none."""
    line = 0
    while trace is not None:
        if trace.tb_frame.f_code.co_filename == name:
            line = trace.tb_lineno
        trace = trace.tb_next
    return line
