"""What a request about trouble codes and on-board values may say."""

from typing import Any

from rest_framework import serializers

#: Far longer than any memory or any paste of answers is. Judgement, no source.
LINE_CHARACTERS, PASTE_CHARACTERS = 1_000, 20_000


class CodeLineBody(serializers.Serializer[Any]):
    """Codes as they were typed."""

    text = serializers.CharField(
        max_length=LINE_CHARACTERS,
        help_text="Codes of five characters, with or without failure type, and SPN with FMI, each "
        "with its state after it: P2463-92, P244B pending; SPN 3251 FMI 0.",
    )


class OnBoardBody(serializers.Serializer[Any]):
    """Answers of a vehicle to service 01."""

    text = serializers.CharField(
        max_length=PASTE_CHARACTERS,
        trim_whitespace=False,
        help_text="Bytes in hexadecimal as a reader shows them, one answer a line or with "
        "semicolons between: 41 31 01 2C. Frames with their address are put together.",
    )
