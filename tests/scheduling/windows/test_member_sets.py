"""Sets of members as bits, beside counting flags one by one."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from scheduling.windows.member_sets import everybody, pack, shares

shapes = st.tuples(st.integers(1, 6), st.integers(1, 200))


@given(shapes.flatmap(lambda shape: st.tuples(arrays(bool, shape), arrays(bool, shape))))
def test_sets_count_and_meet_as_flags_do(pair: tuple[np.ndarray, np.ndarray]) -> None:
    one, other = pair
    members = one.shape[1]
    assert (shares(pack(one), members) == one.mean(axis=1)).all()
    assert (shares(pack(one) & pack(other), members) == (one & other).mean(axis=1)).all()
    assert (pack(one) & everybody(members) == pack(one)).all()
    assert shares(everybody(members), members).tolist() == [1.0]
