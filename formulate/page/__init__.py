"""The page for the person in the kitchen: Flask, rendered here, on this computer only.

``app``        the application, its headers and its plain error pages
``guard``      who may ask: this computer, this run's token, small requests
``store``      the chosen folder: pantry and flock files in and out
``rows``       the shelf as a form; what was typed as a pantry, and as edits to its file
``aim``        what the mix is for, how much, in what
``answer``     the mix, or why there is none, ready to be shown
``animals``    today's bottles, weights, growth
``words``      sentences that depend on numbers

What a person reads stands in ``templates/`` and ``words``; nothing is loaded from elsewhere.
"""
