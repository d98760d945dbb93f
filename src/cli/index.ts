// Door of cli/.
