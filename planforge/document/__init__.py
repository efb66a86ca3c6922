"""Templates, figures and an identity in; one printable PDF out (see :mod:`.build`)."""
