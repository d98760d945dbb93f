// Door of simulate/.
