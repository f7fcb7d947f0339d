"""A column of a large operating point: an array until somebody asks for its numbers one by one."""

from collections.abc import Callable, Iterator, Sequence
from functools import cached_property
from typing import Any, overload

import numpy as np
from numpy.typing import NDArray


class Column(Sequence[Any]):
    """Numbers worked out when first asked for. numpy takes the array as it is; items are Python's own numbers."""

    def __init__(self, length: int, make: Callable[[], NDArray[Any]]) -> None:
        self._length, self._make = length, make

    @cached_property
    def _array(self) -> NDArray[Any]:
        return self._make()

    @cached_property
    def _numbers(self) -> list[Any]:
        found: list[Any] = self._array.tolist()
        return found

    def __array__(self, dtype: Any = None, copy: bool | None = None) -> NDArray[Any]:
        return np.array(self._array, dtype=dtype) if copy else np.asarray(self._array, dtype=dtype)

    @overload
    def __getitem__(self, at: int) -> Any: ...
    @overload
    def __getitem__(self, at: slice) -> Sequence[Any]: ...
    def __getitem__(self, at: int | slice) -> Any:
        return self._numbers[at]

    def __iter__(self) -> Iterator[Any]:
        return iter(self._numbers)

    def __len__(self) -> int:
        return self._length
