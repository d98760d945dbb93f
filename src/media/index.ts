// Door of media/.
