"""What the views of single matters need of the pages of a folder."""

from __future__ import annotations

from contextlib import AbstractContextManager
from typing import Any, Protocol

from werkzeug.wrappers import Response as AnyResponse

from tracer.page.folder import OpenJob


class Pages(Protocol):
    """The pages of a folder: a job of it, a page of that job, and where to go next."""

    def opened(self, name: str) -> AbstractContextManager[OpenJob]: ...

    def page(self, template: str, opened: OpenJob, name: str, **values: Any) -> str: ...

    def go(self, where: str) -> AnyResponse: ...
