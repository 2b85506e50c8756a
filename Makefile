# make demo     loads the sample logs, runs the checks, writes dossiers, trends and the board
# make test     style, types, imports and all tests
# make bench    speed, as ratios against a baseline in the same run
# make trials   long trials, not part of the tests
# make mutants  small faults put into the code one at a time: which ones no test notices
# make coverage branches that no test takes, by folder; not part of the tests

bin := .venv/bin

.PHONY: demo test bench trials mutants coverage ready

ready:
	@.ci/prepare

demo: ready
	@.ci/demo

test: ready
	@.ci/prepare tests
	$(bin)/ruff check .
	$(bin)/ruff format --check .
	$(bin)/mypy
	$(bin)/pytest -q -n auto --dist loadfile

bench: ready
	$(bin)/python tests/benchmarks/bench_strength.py
	$(bin)/python tests/benchmarks/bench_receive.py
	$(bin)/python tests/benchmarks/bench_check.py
	$(bin)/python tests/benchmarks/bench_run_curves.py
	$(bin)/python tests/benchmarks/bench_accounting.py
	$(bin)/python tests/benchmarks/bench_dossier.py
	$(bin)/python tests/benchmarks/bench_trends.py

trials: ready
	$(bin)/pytest -q tests/trials --override-ini=testpaths=tests/trials -s

mutants: ready
	$(bin)/python tests/mutation

coverage: ready
	@.ci/prepare tests
	$(bin)/pytest -q -n auto --dist loadfile --cov gaugebook.pipeline --cov gaugebook.checks --cov gaugebook.reports --cov-branch --cov-report=
	$(bin)/coverage json -q -o - | $(bin)/python tests/support/coverage_by_folder.py
