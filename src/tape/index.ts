// Door of tape/.
