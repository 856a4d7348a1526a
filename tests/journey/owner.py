"""From the enquiry to the agreement: what the owner asks, what is read and found, what is offered and accepted."""

import re
from io import BytesIO

from django.utils import timezone
from PIL import Image, ImageDraw

from jobs.assessment.models import Photograph
from jobs.intake.models import Instrument
from jobs.quoting.models import Quote
from jobs.updates.models import Update
from jobs.worklist.models import Job
from tests.journey.walk import Walk
from tests.sink import Sink
from workshop.mail.services import mail_relay
from workshop.money.words import money

NAME = "Zoë “Pip” O’Hara-Ő 🎹"
READ = {"pitch-off": (-62, "cents"), "groove": (1.1, "mm")}
CAPTION = "The crack “by the bass bridge” 🎹"
MAKER_TAG, PLACE_TAG = 0x010F, 0x8825  # Exif 2.3: Make, GPS IFD


def csv_of(values: dict[str, tuple[float, str]], keys: list[int]) -> str:
    rows = [f"{key},{code},{value},{unit}" for code, (value, unit) in values.items() for key in keys]
    return "\n".join(["note,measure,value,unit", *rows]) + "\n"


def enquiry(desk: Walk) -> Instrument:
    """An owner telephones; a name with quotes and a picture in it is kept as it is."""
    desk.go("/enquiries/new/").fill(
        aim="To play it again, as my mother did.",
        client__name=NAME,
        client__email="zoe@harrowmere.example",
        instrument__maker="Larkwhistle",
        instrument__year="1911",
    ).choose("instrument-kind", "upright").press("Keep this enquiry")
    instrument = Instrument.objects.get()
    assert instrument.client.name == NAME
    assert NAME in desk.text
    return instrument


def assessment(desk: Walk, instrument: Instrument) -> None:
    """Readings by file and by hand: a wrong file is told by row and keeps nothing; the findings are kept."""
    desk.go(f"/instruments/{instrument.number}/").follow("Assess it")
    desk.fill(temperature_c="19", humidity_percent="48").press("Begin reading")
    sheet = desk.page.url
    desk.follow("bring readings in from a CSV")
    desk.fill(text="note,measure,value,unit\nA4,groove,1.1,g\nC9,groove,1.1,mm\n").press("Look at it")
    assert "Two lines need mending" in desk.text
    assert "does not fit" in desk.text
    assert "C9" in desk.text
    assert desk.page.locator("[name=text]").input_value().startswith("note,measure"), "nothing entered is lost"
    assert not instrument.assessments.get().readings.exists()
    desk.fill(text=csv_of(READ, list(range(1, 88, 6)))).press("Look at it").press("Keep", exact=False)
    assert instrument.assessments.get().readings.count() == 30
    desk.go(f"{sheet}enter/groove/?which=standard&key=88").fill(value="1.3")
    with desk.page.expect_navigation():
        desk.page.keyboard.press("Enter")
    assert instrument.assessments.get().readings.count() == 31
    desk.go(sheet).press("Finish and work out the findings")
    while desk.page.locator("form[action^='/findings/'][action$='/keep/'] button").count():
        with desk.page.expect_navigation():
            desk.page.locator("form[action^='/findings/'][action$='/keep/'] button").first.click()
    findings = instrument.assessments.get().findings.filter(state="kept")
    assert findings.exists()
    words = desk.pdf(f"{sheet}paper.pdf")
    assert findings.first().sentence.split(".")[0][:40] in words


def picture() -> bytes:
    """Return a photograph as a telephone makes it: lying on its side, with the place it was taken in it."""
    drawn = Image.new("RGB", (640, 480), "#c99a5b")
    ImageDraw.Draw(drawn).line([(300, 0), (330, 220), (310, 480)], fill="#2b1d12", width=9)
    tags = Image.Exif()
    tags[MAKER_TAG], tags[0x0112] = "a telephone", 6  # Orientation 6: the top is on the right
    tags.get_ifd(PLACE_TAG)[1] = "N"
    kept = BytesIO()
    drawn.save(kept, "JPEG", exif=tags)
    return kept.getvalue()


def photographed(desk: Walk, instrument: Instrument) -> Photograph:
    """A photograph joins the assessment, upright and without the place; a file that is none is refused in words."""
    assessment = instrument.assessments.get()
    for name, data, sentence in (("crack.jpg", b"not a picture at all", "picture"), ("crack.jpg", picture(), CAPTION)):
        desk.go(f"/assessments/{assessment.pk}/")
        field = desk.page.locator("main [name=picture]")
        desk.unfold(field).set_input_files({"name": name, "mimeType": "image/jpeg", "buffer": data})
        desk.fill(caption=CAPTION).press("Keep the photograph")
        assert sentence in desk.text
    kept = Photograph.objects.get()
    assert (kept.assessment, kept.width, kept.height, kept.for_client) == (assessment, 480, 640, True)
    return kept


def sees_photograph(client: Walk, photograph: Photograph) -> None:
    """The owner sees the picture in the letter: our own JPEG, nothing of the telephone left in it."""
    shown = client.page.locator(f"img[src='/your-piano/photograph/{photograph.pk}/']")
    shown.scroll_into_view_if_needed()
    client.page.wait_for_function("image => image.complete && image.naturalWidth === 480", arg=shown.element_handle())
    assert shown.get_attribute("alt") == CAPTION
    answer = client.page.context.request.get(shown.get_attribute("src"))
    assert answer.headers["content-type"] == "image/jpeg"
    seen = Image.open(BytesIO(answer.body()))
    assert (seen.format, seen.size, dict(seen.getexif())) == ("JPEG", (480, 640), {})
    assert b"telephone" not in answer.body()


def quoted(desk: Walk, instrument: Instrument) -> Quote:
    """The findings become a scope with a price and a date; frozen, it goes out as a letter with a link."""
    desk.go(f"/instruments/{instrument.number}/").press("Begin a quote")
    desk.press("Freeze and write the letter")
    quote = Quote.objects.get()
    assert quote.state == "sent"
    scope = quote.scopes.get()
    assert scope.total_likely > 0
    assert scope.ready_on is not None
    words = desk.pdf(f"/quotes/{quote.number}/quote.pdf")
    for amount in (scope.total_likely, scope.total_80):
        assert money(amount) in words or f"{amount:,.0f}" in words, (amount, words)
    return quote


def accepted(client: Walk, quote: Quote, link: str) -> Job:
    """The owner opens the link, chooses, and signs with a name; a second answer is refused in words."""
    client.go(link).press("Open my page")
    assert NAME in client.text or "Zoë" in client.text
    sees_photograph(client, quote.instrument.photographs.get())
    scope = quote.scopes.get()
    client.choose("way", str(scope.pk)).press("Go on to the summary")
    summary = client.page.url
    client.fill(name=NAME).press("I agree")
    job = Job.objects.get()
    assert (job.agreed_total, quote.answer.name) == (scope.total_likely, NAME)
    client.go("/your-piano/where-it-stands/")
    client.page.goto(summary)
    if client.page.get_by_role("button", name="I agree").count():
        client.fill(name=NAME).press("I agree")
        assert "answered once" in client.text
    assert Job.objects.count() == 1
    words = client.pdf(f"/your-piano/paper/quote/{quote.number}.pdf")
    assert "Larkwhistle" in words
    return job


def letter_sent(desk: Walk, sink: Sink, event: str) -> tuple[str, str]:
    """Release the newest message about an event; return its words as they arrived and the private link in it."""
    update = Update.objects.filter(event=event, state="draft").latest("pk")
    desk.go("/messages/").follow(update.subject)
    desk.press("Send it to", exact=False)
    return arrived(sink, update.subject)


def arrived(sink: Sink, subject: str) -> tuple[str, str]:
    """Let the mail go; return the words of the letter that arrived with this subject, and the private link in it."""
    before = len(sink.mails)
    mail_relay(at=timezone.now())
    (letter,) = (mail for mail in sink.mails[before:] if mail["Subject"] == subject)
    assert "zoe@harrowmere.example" in letter["To"]
    assert {part.get_content_type() for part in letter.walk()} >= {"text/plain", "text/html"}
    words = letter.get_body(("plain",)).get_content()
    found = re.search(r"http\S+/your-piano/enter/\S+/", words)
    assert found, "the letter brings the link"
    return words, found[0]
