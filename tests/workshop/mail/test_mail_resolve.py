import pytest

from tests.factories import MOMENT
from tests.workshop.mail.test_mail_write import write
from workshop.mail.models import Mail
from workshop.mail.services import mail_resolve
from workshop.web.errors import Refused

pytestmark = pytest.mark.django_db


def in_state(state):
    mail = write()
    Mail.objects.filter(pk=mail.pk).update(state=state, marked_at=MOMENT, attempts=3, trouble="the line broke")
    mail.refresh_from_db()
    return mail


@pytest.mark.parametrize("state", ["uncertain", "refused"])
def test_it_can_be_sent_again_under_the_same_id(manager, state):
    mail = in_state(state)
    before = mail.message_id
    mail_resolve(mail=mail, decision="again", by=manager, at=MOMENT)
    assert (mail.state, mail.attempts, mail.not_before, mail.message_id) == ("waiting", 0, None, before)
    assert mail.trouble == f"{manager} had it sent again."


def test_a_doubtful_one_can_be_said_to_have_arrived(manager):
    mail = mail_resolve(mail=in_state("uncertain"), decision="arrived", by=manager, at=MOMENT)
    assert (mail.state, mail.sent_at) == ("sent", MOMENT)


@pytest.mark.parametrize("state", ["uncertain", "refused"])
def test_it_can_be_dropped(manager, state):
    assert mail_resolve(mail=in_state(state), decision="drop", by=manager, at=MOMENT).state == "dropped"


def test_a_refused_one_cannot_have_arrived(manager):
    mail = in_state("refused")
    with pytest.raises(Refused):
        mail_resolve(mail=mail, decision="arrived", by=manager, at=MOMENT)
    mail.refresh_from_db()
    assert mail.state == "refused"


@pytest.mark.parametrize("state", ["waiting", "sending", "sent", "dropped"])
@pytest.mark.parametrize("decision", ["again", "arrived", "drop"])
def test_what_is_not_open_is_left_alone(manager, state, decision):
    mail = in_state(state)
    with pytest.raises(Refused, match="Nothing was changed"):
        mail_resolve(mail=mail, decision=decision, by=manager, at=MOMENT)
    mail.refresh_from_db()
    assert (mail.state, mail.trouble) == (state, "the line broke")
