/*
 * Times KLU's refactorisation and solve on the systems that come in on standard input.
 *
 * Input, native byte order: int32 n, entries, steps, repeats; int32 columnStart[n + 1], row[entries];
 * then for each step double values[entries], b[n].
 * Output: entries of L and U, median nanoseconds for one refactorisation and solve, then the solution of the last
 * step, one number a line.
 */
#include <klu.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

static double nanoseconds(void) {
  struct timespec now;
  clock_gettime(CLOCK_MONOTONIC, &now);
  return now.tv_sec * 1e9 + now.tv_nsec;
}

static int ascending(const void *a, const void *b) {
  double x = *(const double *)a, y = *(const double *)b;
  return (x > y) - (x < y);
}

static void *input(size_t size, size_t count) {
  void *block = malloc(size * count + 1);
  if (!block || fread(block, size, count, stdin) != count) {
    fputs("the input ends too early\n", stderr);
    exit(2);
  }
  return block;
}

int main(void) {
  int *head = input(sizeof(int), 4);
  int n = head[0], entries = head[1], steps = head[2], repeats = head[3];
  int *start = input(sizeof(int), n + 1);
  int *row = input(sizeof(int), entries);
  double *numbers = input(sizeof(double), (size_t)steps * (entries + n));
  double *x = malloc(sizeof(double) * n);
  double *times = malloc(sizeof(double) * repeats);

  klu_common common;
  klu_defaults(&common);
  klu_symbolic *symbolic = klu_analyze(n, start, row, &common);
  klu_numeric *numeric = symbolic ? klu_factor(start, row, numbers, symbolic, &common) : NULL;
  if (!numeric) {
    fprintf(stderr, "KLU gives up with status %d\n", common.status);
    return 1;
  }
  for (int repeat = 0; repeat < repeats; repeat++) {
    double begin = nanoseconds();
    for (int step = 0; step < steps; step++) {
      double *values = numbers + (size_t)step * (entries + n);
      memcpy(x, values + entries, sizeof(double) * n);
      if (!klu_refactor(start, row, values, symbolic, numeric, &common) ||
          !klu_solve(symbolic, numeric, n, 1, x, &common)) {
        fprintf(stderr, "KLU gives up with status %d\n", common.status);
        return 1;
      }
    }
    times[repeat] = (nanoseconds() - begin) / steps;
  }
  qsort(times, repeats, sizeof(double), ascending);
  printf("%d\n%.1f\n", numeric->lnz + numeric->unz - n + symbolic->nzoff, times[repeats / 2]);
  for (int i = 0; i < n; i++) printf("%.17g\n", x[i]);
  return 0;
}
