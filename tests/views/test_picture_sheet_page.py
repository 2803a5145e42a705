"""The picture sheet is for developers: without DEBUG it is not there, with it it shows forty pictures."""

import pytest
from django.urls import reverse

from cast import Cast
from tests.checklists.walks import sign_in


@pytest.mark.parametrize(("is_debug", "status"), [(False, 404), (True, 200)])
def test_the_picture_sheet_is_there_for_developers_only(everybody: Cast, settings, is_debug, status) -> None:
    settings.DEBUG = is_debug
    for role in ("technician", "pharmacist", "supervisor"):
        answer = sign_in(everybody[role]).get(reverse("pictures"))
        assert answer.status_code == status
        assert answer.content.count(b'role="img"') == (40 if is_debug else 0)
        assert b" style=" not in answer.content
