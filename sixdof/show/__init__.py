"""Pictures: plots, the 3D scene, the window to play flights in.

Nothing heavy is imported here; take what you need from its module:

`probe` (is there a renderer, is there a display), `plots` and `drawing` (matplotlib), `scene`
(PNG of flights), `viewer` (window), `film` (GIF), `hull` (the airplane as meshes).
"""
