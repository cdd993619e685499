"""Weighted linear least squares solved exactly, in integers only.

Because nothing is rounded, a PC and a single-precision board return the same numerators and denominator to the last
bit, and no choice of algorithm or order of summation can change them. Method: the normal equations over the integers,
fraction-free elimination (E. H. Bareiss, "Sylvester's identity and multistep integer-preserving Gaussian elimination",
Math. Comp. 22 (1968) 565-578), then back substitution with one common denominator.
"""


class FitError(Exception):
    """The points do not determine the coefficients."""


def fit_polynomial(x, y, weights, degree):
    """Minimise the sum of w * (y - (c0 + c1*x + ... + c_degree*x**degree))**2.

    x, y, weights: sequences of ints of one length, weights > 0. Returns (numerators, denominator): coefficient k,
    lowest power first, is numerators[k] / denominator, with denominator > 0 and the fractions not reduced.
    Raises FitError unless there are more than `degree` different x.
    """
    size = degree + 1
    power_sums = [0] * (2 * degree + 1)
    moments = [0] * size
    for i in range(len(x)):
        term = weights[i]
        for k in range(2 * degree + 1):
            power_sums[k] += term
            if k < size:
                moments[k] += term * y[i]
            term *= x[i]
    rows = []
    for k in range(size):
        row = power_sums[k:k + size]
        row.append(moments[k])
        rows.append(row)
    solutions, denominator = solve(rows)
    return solutions[0], denominator


def fit_linear(regressors, y, weights):
    """Minimise the sum of w * (y - sum(c[k] * row[k]))**2 over any regressors.

    regressors: one row of ints for each y. Returns (numerators, denominator) as `fit_polynomial` does.
    Raises FitError where the regressors depend on one another.
    """
    rows = gram_matrix(regressors, weights)
    for k in range(len(rows)):
        moment = 0
        for i in range(len(y)):
            moment += weights[i] * regressors[i][k] * y[i]
        rows[k].append(moment)
    solutions, denominator = solve(rows)
    return solutions[0], denominator


def gram_matrix(regressors, weights):
    """Return the sums of w * row[i] * row[j], a symmetric matrix of ints."""
    size = len(regressors[0])
    return [
        [sum([weights[n] * regressors[n][i] * regressors[n][j] for n in range(len(weights))]) for j in range(size)]
        for i in range(size)
    ]


def invert(matrix):
    """Return (numerators, denominator) of the inverse of a symmetric positive definite matrix of ints, exactly.

    Times the variance of an observation of weight 1 this is the covariance of the coefficients, exact as they are.
    """
    size = len(matrix)
    rows = []
    for i in range(size):
        row = list(matrix[i])
        for j in range(size):
            row.append(1 if i == j else 0)
        rows.append(row)
    return solve(rows)


def solve(rows):
    """Solve a symmetric positive definite system with one or more right-hand sides.

    rows: n lists of n + m ints, consumed. Returns (solutions, denominator): m lists of n numerators and their one
    denominator > 0. No pivoting: every leading minor of such a matrix is positive, and a zero means it is singular.
    """
    denominator = _eliminate(rows)
    size = len(rows)
    return [_substitute_back(rows, size + j, denominator) for j in range(len(rows[0]) - size)], denominator


def _eliminate(rows):
    size = len(rows)
    width = len(rows[0])
    previous = 1
    for k in range(size):
        upper = rows[k]
        pivot = upper[k]
        if pivot <= 0:
            raise FitError("the points do not determine %d coefficients: too few different loads" % size)
        for i in range(k + 1, size):
            lower = rows[i]
            factor = lower[k]
            for j in range(k + 1, width):
                lower[j] = (lower[j] * pivot - factor * upper[j]) // previous  # exact: Bareiss
            lower[k] = 0
        previous = pivot
    return previous


def _substitute_back(rows, column, denominator):
    size = len(rows)
    numerators = [0] * size
    for i in range(size - 1, -1, -1):
        row = rows[i]
        value = denominator * row[column]
        for j in range(i + 1, size):
            value -= row[j] * numerators[j]
        numerators[i] = value // row[i]  # exact: Cramer's rule
    return numerators
