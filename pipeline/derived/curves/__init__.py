"""The curve of each still run: its log averaged, cut, integrated, held against physics and against good runs."""
