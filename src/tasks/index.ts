// Door of tasks/.
