/* The yardstick: one tank, one constant draw, yield after spillage, thousands of designs.
   The scores are those the engine is compared by: dry days, water delivered, overflow.
   `held` keeps a few designs in registers from the first day to the last; `by_day` goes through all designs
   of a block day by day. Both are compiled with -O3 -march=native and turned into vector instructions. */

#define WIDTH 32

void held(long days, long designs, const double *restrict rain, const double *restrict area,
          const double *restrict capacity, const double *restrict demand, double *restrict storage,
          double *restrict dry, double *restrict delivered, double *restrict overflow)
{
    for (long b = 0; b < designs; b += WIDTH) {
        double a[WIDTH], s[WIDTH], d[WIDTH], v[WIDTH], n[WIDTH], y[WIDTH], o[WIDTH];
        for (int k = 0; k < WIDTH; k++) {
            a[k] = area[b + k], s[k] = capacity[b + k], d[k] = demand[b + k], v[k] = storage[b + k];
            n[k] = y[k] = o[k] = 0.0;
        }
        for (long t = 0; t < days; t++) {
            const double p = rain[t];
            for (int k = 0; k < WIDTH; k++) {
                double take = d[k] < v[k] ? d[k] : v[k];
                double after = v[k] - take + a[k] * p, full = s[k] - take;
                double next = after < full ? after : full;
                n[k] += d[k] - take > 1e-6 * d[k] ? 1.0 : 0.0;
                y[k] += take;
                o[k] += after - next;
                v[k] = next;
            }
        }
        for (int k = 0; k < WIDTH; k++)
            storage[b + k] = v[k], dry[b + k] = n[k], delivered[b + k] = y[k], overflow[b + k] = o[k];
    }
}

void by_day(long days, long designs, const double *restrict rain, const double *restrict area,
            const double *restrict capacity, const double *restrict demand, double *restrict storage,
            double *restrict dry, double *restrict delivered, double *restrict overflow)
{
    for (long b = 0; b < designs; b += 2 * WIDTH)
        for (long t = 0; t < days; t++) {
            const double p = rain[t];
            for (long k = b; k < b + 2 * WIDTH; k++) {
                double take = demand[k] < storage[k] ? demand[k] : storage[k];
                double after = storage[k] - take + area[k] * p, full = capacity[k] - take;
                double next = after < full ? after : full;
                dry[k] += demand[k] - take > 1e-6 * demand[k] ? 1.0 : 0.0;
                delivered[k] += take;
                overflow[k] += after - next;
                storage[k] = next;
            }
        }
}
