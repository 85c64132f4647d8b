"""A field app's day over the REST API: post, read what is wrong, correct, send, answer, sign, seal.

It speaks HTTP and imports nothing of the project. Ends with 0 when everything went as it should.

python demo_visit.py ADDRESS --json FILE
"""

import argparse
import hashlib
import json
import sys
import time
import urllib.error
import urllib.parse
import urllib.request
from pathlib import Path
from typing import Any

VISIT = Path(__file__).resolve().parent.parent / "fixtures" / "demo" / "visit.json"
PATIENCE = 60  # s, for the PDF
Document = dict[str, Any]


class Failed(Exception):
    """Something did not go as it should."""


class Answer:
    """Status, headers and body of one answer."""

    def __init__(self, status: int, headers: Any, body: bytes) -> None:
        self.status, self.headers, self.body = status, headers, body

    @property
    def document(self) -> Any:
        """The JSON document."""
        return json.loads(self.body)


class Service:
    """The service as one person's device sees it."""

    def __init__(self, address: str, token: str) -> None:
        self.address, self.token = address, token

    def call(
        self, method: str, path: str, body: Any = None, *, expect: int, **headers: str
    ) -> Answer:
        """One request; any other status than expected is a failure told in full."""
        answer = self._send(method, path, body, headers)
        if answer.status != expect:
            said = answer.body.decode(errors="replace")
            raise Failed(f"{method} {path}: {answer.status}, expected {expect}\n{said}")
        return answer

    def _send(self, method: str, path: str, body: Any, headers: dict[str, str]) -> Answer:
        merge = "merge-patch+" if method == "PATCH" else ""
        request = urllib.request.Request(  # noqa: S310  # the address that was given
            f"{self.address}/api/v1{path}",
            data=body if body is None or isinstance(body, bytes) else json.dumps(body).encode(),
            method=method,
            headers={
                "Authorization": f"Bearer {self.token}",
                "Content-Type": f"application/{merge}json",
                **{name.replace("_", "-"): value for name, value in headers.items()},
            },
        )
        try:
            with urllib.request.urlopen(request, timeout=30) as response:  # noqa: S310
                return Answer(response.status, response.headers, response.read())
        except urllib.error.HTTPError as error:
            return Answer(error.code, error.headers, error.read())


def say(words: str = "") -> None:
    """Print a line at once."""
    print(words, flush=True)


def tell(event: Document) -> None:
    """Print the findings as sentences."""
    for finding in event["findings"]:
        if finding["severity"] != "note":
            say(f"  {finding['severity']:6} {finding['sentence']}")
            if finding["remedy"]:
                say(f"         {finding['remedy']}")
    counts = [
        sum(f["severity"] == s for f in event["findings"]) for s in ("stop", "review", "note")
    ]
    say(
        "  {} stop, {} review, {} note; {} rules could not be judged".format(
            *counts, len(event["not_evaluated"])
        )
    )


def expect_rules(event: Document, expected: Document) -> None:
    """The findings are those that the mistakes must light, no more and no less."""
    said = {
        severity: {f["rule"] for f in event["findings"] if f["severity"] == severity}
        for severity in ("stop", "review")
    }
    said["waiting"] = {r["rule"] for r in event["not_evaluated"] if "waits_for" in r}
    for what, rules in expected.items():
        missing = set(rules) - said[what]
        surplus = said[what] - set(rules) if what != "waiting" else set()
        if missing or surplus:
            raise Failed(f"{what}: missing {sorted(missing)}, surplus {sorted(surplus)}")


def send_files(scenario: Document, path: str, device: Service) -> Document:
    """Send what was saved on site as it is, and read the event as it is judged with it."""
    say("\nSent:")
    for file in scenario["files"]:
        content = (VISIT.parent / file["file"]).read_bytes()
        place = f"{path}/{file['to']}?{urllib.parse.urlencode(file['query'])}"
        sent = device._send("POST", place, content, {"Content-Type": file["media_type"]})
        if sent.status not in (200, 201):
            raise Failed(f"POST {place}: {sent.status}\n{sent.body.decode(errors='replace')}")
        say(f"  {sent.document['name']} ({sent.document['size']} bytes kept)")
    event: Document = device.call("GET", path, expect=200).document
    for value in event["derived"]:
        if value["id"].startswith("trace."):
            say(f"  {value['id']}: {value['value']} {value['unit']}")
    return event


def answer(event: Document, answers: list[Document], people: dict[str, Service]) -> None:
    """Answer what is left, by rule."""
    for finding in event["findings"]:
        wanted = next((a for a in answers if a["rule"] == finding["rule"]), None)
        if not finding["open"] or wanted is None:
            continue
        body = {"text": wanted["text"], "accepted": wanted["accepted"]}
        path = f"/events/{event['id']}/findings/{finding['id']}/answer"
        people[wanted["by"]].call("POST", path, body, expect=201)
        say(f"  {finding['rule']}: {wanted['text']}")


def sign(path: str, person: Service, meaning: str) -> None:
    """Sign exactly what is there to be signed now."""
    shown = person.call("GET", f"{path}/signatures", expect=200).document
    body = {"meaning": meaning, "digest": shown["to_sign"][meaning]}
    signed = person.call("POST", f"{path}/signatures", body, expect=201).document
    say(f"  {signed['by']['name']} ({signed['role']}): {meaning}, {signed['digest'][:16]}…")


def fetch_pdf(client: Service, record: str) -> bytes:
    """The PDF, which is made after sealing: ask until it is there."""
    deadline = time.monotonic() + PATIENCE
    while time.monotonic() < deadline:
        found = client._send("GET", f"/records/{record}/document.pdf", None, {})
        if found.status == 200:
            return found.body
        if found.status != 202:
            raise Failed(f"document.pdf: {found.status} {found.body.decode(errors='replace')}")
        time.sleep(0.2)
    raise Failed(f"the PDF was not made within {PATIENCE} s")


def visit(address: str, known: Document, folder: Path) -> None:
    """The whole day."""
    scenario = json.loads(VISIT.read_text(encoding="utf-8"))
    technician = Service(address, known["tokens"]["technician"])
    office = Service(address, known["tokens"]["office"])
    client = Service(address, known["tokens"]["client"])
    people = {
        signature["by"]: device
        for signature, device in zip(scenario["signatures"], (technician, office), strict=True)
    }
    event = scenario["event"]
    say(f"\n{scenario['about']}\n\nPosted:")
    posted = technician._send("POST", "/events", event, {})
    if posted.status == 200:
        say("  The visit is in the book already; it stays as it is.")
    elif posted.status != 201:
        raise Failed(f"POST /events: {posted.status}\n{posted.body.decode(errors='replace')}")
    else:
        tell(posted.document)
        expect_rules(posted.document, scenario["expected"])
    path = f"/events/{event['id']}"
    if posted.document["state"] == "draft":
        carry_on(scenario, path, posted, technician, people)
    seal_and_download(path, office, client, folder)


def carry_on(
    scenario: Document,
    path: str,
    posted: Answer,
    technician: Service,
    people: dict[str, Service],
) -> None:
    """Correct, send the files, answer, sign."""
    changed = posted
    for correction in scenario["rounds"]:
        etag = changed.headers["ETag"]
        changed = technician.call("PATCH", path, correction["patch"], expect=200, If_Match=etag)
        say(f"\nCorrected: {correction['about']}")
        tell(changed.document)
        expect_rules(changed.document, correction["expected"])
    event = send_files(scenario, path, technician)
    expect_rules(event, scenario["rounds"][-1]["expected"])
    say("\nAnswered:")
    answer(event, scenario["answers"], people)
    say("\nSigned:")
    signed = {(s["by"]["name"], s["meaning"]) for s in event["signatures"]}
    for signature in scenario["signatures"]:
        if signature["meaning"] not in {meaning for _, meaning in signed}:
            sign(path, people[signature["by"]], signature["meaning"])


def seal_and_download(path: str, office: Service, client: Service, folder: Path) -> None:
    """Seal, then fetch the record as the client."""
    record = office._send("POST", f"{path}/seal", None, {})
    if record.status not in (200, 201):
        raise Failed(f"seal: {record.status}\n{record.body.decode(errors='replace')}")
    seal = record.document["seal"]
    say(f"\nSealed: record {record.document['number']}, SHA-256 {seal['digest']}")
    data = client.call("GET", f"/records/{record.document['id']}/data.json", expect=200).body
    text = data[len(b'{"record":') : data.rindex(b',"seal":')]
    if hashlib.sha256(text).hexdigest() != seal["digest"]:
        raise Failed("the digest of the downloaded record is another")
    pdf = fetch_pdf(client, record.document["id"])
    if not pdf.startswith(b"%PDF-"):
        raise Failed("the document is no PDF")
    for name, content in (("record.json", data), ("record.pdf", pdf)):
        (folder / name).write_bytes(content)
        say(f"  {folder / name} ({len(content)} bytes)")


def main() -> int:
    """Run the visit and answer its exit status."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("address")
    parser.add_argument("--json", type=Path, required=True, help="what sh deploy/demo wrote")
    parser.add_argument("--folder", type=Path, help="where the record is kept; else beside it")
    options = parser.parse_args()
    known = json.loads(options.json.read_text(encoding="utf-8"))
    try:
        visit(options.address, known, options.folder or options.json.parent)
    except (Failed, OSError, KeyError, ValueError) as error:
        say(f"\nThe demonstration failed: {error!s}")
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
