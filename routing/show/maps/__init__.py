"""Maps of a structure, to one true scale: views, skins, routes, times and revisions on them."""
