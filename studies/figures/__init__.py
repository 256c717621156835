"""Product pictures of one layout: painted renders, a dimensioned drawing and a strength chart."""
