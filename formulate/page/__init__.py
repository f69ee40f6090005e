"""The page for a household: Flask, rendered on the server, usable with scripts off.

``app``        the application and its plain error pages
``guard``      who may ask: this computer, this run's token, small requests
``places``     the navigation, and where each command has its place
``site``       one way to show and to write, for every place
``once``       a form that is sent twice is done once
``store``      the chosen folder: pantry and flock files in and out
``barn``       Today: who is fed next, and the tap that writes it down
``mixing``     Mix, with ``aim``, ``answer`` and ``rows``; ``drafts`` keeps what is not saved
``herd``       Animals; ``animal`` is one's own place, ``noting`` writes down
``planning``   the plan to weaning, growth, a bottle without a list
``shopping``   Shop: the list, the season, sheets and a calendar
``shelf``      Shelf: prices, stock, cartons (``label``), the kitchen
``tables``     recipes side by side, prices, foods, ranges, the manual
``taken``      pictures, tables and programs to take away
``sharing``    telephones on the home network: pairing, and who is let in
``told``       lines of a report as parts of a page

What a person reads stands in ``templates/`` and the messages; nothing is loaded from elsewhere.
"""
