"""External editions: a release is all that is handed out, and the only thing that their documents are made from."""
