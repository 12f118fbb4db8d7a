"""What a client allows of photos: read, and noted with how they said so."""

from typing import Any
from uuid import UUID

from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from apps.clients.choices import PhotoUse
from apps.clients.models import Client
from apps.flows.operation import Operation, based_on, body_of, etag, found, only
from apps.flows.photo_consent import photos_allow
from apps.office.api.bodies import as_typed, judged
from apps.office.api.schemas import DAY, FLAG, ID, IF_MATCH, TEXT, WHOLE, maybe, shape, taken, word
from apps.office.forms.client_data import PhotosForm
from apps.office.wording import people_by_author

ALLOWED = shape({
    "client": ID, "rev": WHOLE, "use": word(*PhotoUse.values), "words": TEXT, "how": TEXT,
    "noted_on": maybe(DAY), "noted_by": TEXT, "shown_to_them": FLAG,
})  # fmt: skip
ALLOWING = taken(shape(
    {"use": word(*PhotoUse.values)},
    {"how": {**TEXT, "maxLength": 200,
             "description": "how they said so; needed unless nobody has asked them"}},
))  # fmt: skip


class ClientPhotos(Operation):
    """What a client allows of photos that we take at their home."""

    def client(self, pk: UUID) -> Client:
        """Return the client."""
        row: Client = found(Client.objects.visible_to(self.office_only()), pk)
        return row

    @extend_schema(
        operation_id="client_photos", summary="What a client allows of photos",
        responses={200: ALLOWED},
    )  # fmt: skip
    def get(self, request: Request, pk: UUID) -> Response:
        """Office: since when, who noted it and how they said so."""
        return _answer(self.client(pk))

    @extend_schema(
        operation_id="client_photos_set", summary="Note what a client allows of photos",
        parameters=[IF_MATCH], request=ALLOWING, responses={200: ALLOWED},
    )  # fmt: skip
    def put(self, request: Request, pk: UUID) -> Response:
        """Office: reports that wait are drawn anew, those that went out stay as they are."""
        actor, client = self.office_only(), self.client(pk)
        body = body_of(request)
        only(body, ("use", "how"), ("use",))
        rev = based_on(request, client)
        form = PhotosForm({**as_typed(PhotosForm.base_fields, body), "rev": str(rev)})
        said = judged(form).cleaned_data
        kept = photos_allow(
            client=client, use=said["use"], how=said["how"], rev=rev, by=actor, at=actor.at
        )
        return _answer(kept)


def _answer(client: Client) -> Response:
    body: dict[str, Any] = {
        "client": client.pk, "rev": client.rev, "use": client.photos,
        "words": client.get_photos_display(), "how": client.photos_how,
        "noted_on": client.photos_on,
        "noted_by": people_by_author([client.photos_by]).get(client.photos_by, ""),
        "shown_to_them": client.shows_photos,
    }  # fmt: skip
    return Response(body, headers={"ETag": etag(client)})
