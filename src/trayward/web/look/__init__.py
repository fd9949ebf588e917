"""How pages look and speak: templates, filters, languages, and the static files beside them."""
