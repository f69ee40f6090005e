"""Let telephones on the home network open the page: addresses, codes, and access."""
