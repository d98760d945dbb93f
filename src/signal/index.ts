// Door of signal/.
