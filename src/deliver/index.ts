// Door of deliver/.
