/* The right-hand side of sixdof/physics and its Runge-Kutta step in plain scalar C: a yardstick.
 *
 * Same equations, same tables, same order of the states; records.h is written from the dtypes of
 * the records by tests/benchmarks/in_c.py, which compiles this file and compares the flights.
 * SI, rad; see the kernels of the same names for sources.
 */
#include <math.h>
#include <string.h>

#include "records.h" /* Plane, Air, PROP_POINTS, N_STATE, N_TARGET, binomials B[11] and constants of the air */

typedef struct { double x, y, z; } Vector;

static inline Vector vector(double x, double y, double z) { Vector v = {x, y, z}; return v; }

static inline Vector cross(Vector a, Vector b)
{
    return vector(a.y * b.z - a.z * b.y, a.z * b.x - a.x * b.z, a.x * b.y - a.y * b.x);
}

static inline Vector turned(double q0, double q1, double q2, double q3, Vector v)
{
    Vector q = vector(q1, q2, q3), t = cross(q, v);
    t = vector(2.0 * t.x, 2.0 * t.y, 2.0 * t.z);
    Vector c = cross(q, t);
    return vector(v.x + q0 * t.x + c.x, v.y + q0 * t.y + c.y, v.z + q0 * t.z + c.z);
}

static inline double larger(double a, double b) { return a > b ? a : b; }
static inline double smaller(double a, double b) { return a < b ? a : b; }
static inline double clip(double x, double low, double high) { return smaller(larger(x, low), high); }

static double density(const Air *air, double height)
{
    if (air->rho > 0.0) return air->rho;
    double x = -(LAPSE / T0) * (EARTH_RADIUS * height / (EARTH_RADIUS + height)), s = B[10];
    for (int k = 9; k >= 0; k--) s = B[k] + x * s;
    return RHO0 * s;
}

static double table(const double *values, double s)
{
    double x = clip(s, 0.0, 1.0) * (PROP_POINTS - 1);
    int i = (int)x;
    if (i > PROP_POINTS - 2) i = PROP_POINTS - 2;
    double t = x - i;
    double a = values[i > 0 ? i - 1 : 0], b = values[i], c = values[i + 1];
    double d = values[i + 2 < PROP_POINTS ? i + 2 : PROP_POINTS - 1];
    return b + 0.5 * t * (c - a + t * (2.0 * a - 5.0 * b + 4.0 * c - d + t * (3.0 * (b - c) + d - a)));
}

typedef struct { Vector force, moment; double omega_rate, slipstream, swirl; } Power;

static Power propeller(const Plane *f, double rho, Vector V, Vector rates, double omega, double throttle)
{
    double D = f->prop_D, R = 0.5 * D, area = M_PI * R * R + 1e-12, turn = f->prop_turn;
    Vector e = vector(f->axis_x, f->axis_y, f->axis_z), at = vector(f->prop_x, f->prop_y, f->prop_z);
    Vector r = cross(rates, at), a = vector(V.x + r.x, V.y + r.y, V.z + r.z);
    double along = a.x * e.x + a.y * e.y + a.z * e.z;
    Vector c = vector(a.x - along * e.x, a.y - along * e.y, a.z - along * e.z);
    double ahead = larger(along, 0.0), nD = omega * D * (0.5 / M_PI);
    double square = ahead * ahead + nD * nD + 1e-12, s = ahead / sqrt(square);
    double thrust = rho * D * D * square * table(f->ct, s);
    double torque = rho * D * D * D * square * table(f->cq, s);
    double induced = 0.5 * (-ahead + sqrt(ahead * ahead + 2.0 * larger(thrust, 0.0) / (rho * area + 1e-12)));
    double through = ahead + induced, slipstream = ahead + 2.0 * induced;
    double across = M_PI * rho * R * R * R * (through + 0.1) + 1e-12;
    double swirl = clip(turn * 1.4 * larger(torque, 0.0) / (across * (slipstream + 0.1)), -0.5, 0.5);
    double sideways = -0.5 * rho * area * f->prop_crossflow_force * through;
    double offset = larger(2.0 * (f->prop_pitch * omega * (0.5 / M_PI)) - through, 0.0);
    offset *= -turn * 0.5 * rho * area * R * f->prop_crossflow_moment;
    double T = thrust + throttle * f->ideal_thrust;
    Vector F = vector(T * e.x + sideways * c.x, T * e.y + sideways * c.y, T * e.z + sideways * c.z);
    Vector M = cross(at, F);
    double wanted = f->motor_no_load * (f->motor_idle + (1.0 - f->motor_idle) * throttle);
    double drive = f->motor_stiffness * (wanted - omega);
    drive = larger(drive, smaller(drive * f->motor_brake, 0.0));
    double h = turn * f->prop_inertia * omega;
    Vector g = cross(vector(h * e.x, h * e.y, h * e.z), rates);
    double roll = turn * (f->torque_recovered * larger(torque, 0.0) - drive);
    M = vector(M.x + offset * c.x + g.x + roll * e.x, M.y + offset * c.y + g.y + roll * e.y,
               M.z + offset * c.z + g.z + roll * e.z);
    Power out = {F, M, (drive - torque) / f->prop_inertia, slipstream, swirl};
    return out;
}

static double soften(double deflection, double saturation)
{
    return deflection * saturation / sqrt(saturation * saturation + deflection * deflection);
}

typedef struct { Vector force, moment; double X_rate, Z_rate, M_rate; } Aero;

static void lift_to(const Plane *f, double y, double *lift, double *moment)
{
    double a = f->tail_load_0, b = f->tail_load_2, c = f->tail_load_8, y2 = y * y, y8 = y2 * y2 * y2 * y2;
    *lift = y * (a + b / 3.0 * y2 + c / 9.0 * y8);
    *moment = y2 * (a / 2.0 + b / 4.0 * y2 + c / 10.0 * y8);
}

static Aero aerodynamics(const Plane *f, double rho, Vector air, Vector rates, const double *surface,
                         double slipstream, double swirl)
{
    double p = rates.x, q = rates.y, r = rates.z;
    Vector ref = vector(f->ref_x, f->ref_y, f->ref_z), d = cross(rates, ref);
    double U = air.x + d.x, V = air.y + d.y, W = air.z + d.z;
    double in_plane = sqrt(U * U + W * W) + 1e-9, speed = sqrt(U * U + V * V + W * W) + 1e-9;
    double alpha = atan2(W, U), beta = atan2(V, in_plane), share = 1.0 / in_plane, ca = U * share, sa = W * share;
    double qbar = 0.5 * rho * speed * speed, half = 0.5 * rho * speed;
    double S = f->S, b = f->b, c = f->c, pb = 0.5 * p * b, qc = 0.5 * q * c, rb = 0.5 * r * b;
    double da = soften(0.5 * (surface[0] - surface[1]), f->saturation_aileron);
    double ds = 0.5 * (surface[0] + surface[1]), df = surface[4];
    double de = soften(surface[2], f->saturation_elevator), dr = soften(surface[3], f->saturation_rudder);
    double b2 = beta * beta;

    double x = clip((fabs(alpha) - f->alpha_stall) / (f->alpha_plate - f->alpha_stall), 0.0, 1.0);
    double plate = x * x * (3.0 - 2.0 * x);
    double linear = f->CL0 + f->CLa * alpha + f->CLde * de + f->CLdf * df + f->CLds * ds;
    double CL = (1.0 - plate) * linear + plate * f->CD90 * sa * ca, over = linear - f->CLmind;
    double CD = f->CD0 + (1.0 - plate) * (f->CDk * over * over + f->CDa * alpha + f->CDa2 * alpha * alpha)
                + plate * f->CD90 * sa * sa + f->CDb2 * b2 + f->CDda2 * da * da + f->CDde * de
                + f->CDde2 * de * de + (f->CDdr2 * dr + f->CDbdr * beta) * dr + f->CDdf * df;
    double CY = f->CY0 + (f->CYb + f->CYb3 * b2) * beta + f->CYda * da + f->CYdr * dr;
    double Cl = f->Cl0 + (f->Clb + f->Clba * alpha) * beta + f->Clda * da
                + (f->Cldr + f->Clbdr * beta + f->Cldr2 * dr) * dr;
    double Cm = f->Cm0 + f->Cma * ((1.0 - plate) * alpha + plate * sa) + f->Cmde * de + f->Cmdf * df
                + f->Cmds * ds + (f->Cmb2 + f->Cmb4 * b2) * b2 + (f->Cmdr2 * dr + f->Cmbdr * beta) * dr;
    double Cn = f->Cn0 + (f->Cnb + f->Cnb3 * b2) * beta
                + (f->Cnda + f->CndaCL * linear + f->Cndads * ds) * da + f->Cndr * dr;
    double lift = S * (qbar * CL + half * f->CLq * qc), drag = S * qbar * CD;
    double Y = S * (qbar * CY + half * (f->CYp * pb + f->CYr * rb));
    double L = S * b * (qbar * Cl + half * (f->Clp * pb + (f->Clr + f->ClrCL * linear) * rb));
    double M = S * c * (qbar * Cm + half * f->Cmq * qc);
    double N = S * b * (qbar * Cn + half * ((f->Cnp + f->CnpCL * linear) * pb + f->Cnr * rb));

    double faster = 0.5 * rho * larger(slipstream - speed, 0.0), stream = slipstream + speed + 1e-9;
    double more = faster * stream, aside = 2.0 * speed / stream, out = aside / f->immersion_angle;
    double a_out = out * out * alpha * alpha, b_out = out * out * b2;
    double left_in = 1.0 / (1.0 + a_out);
    double wing = S * f->stream_lift * left_in * (more * f->stream_alpha0 + faster * speed * alpha);
    lift += wing;
    L += wing * f->stream_arm * aside * beta;
    double fade = 1.0 / (1.0 + a_out + b_out);
    double turn = aside * beta, tip = f->tail_half_span, wide = f->stream_half_width;
    double middle = -out * beta * (1.0 + turn * turn / 3.0);
    double right, left, right_moment, left_moment;
    lift_to(f, clip(middle + wide, -tip, tip), &right, &right_moment);
    lift_to(f, clip(middle - wide, -tip, tip), &left, &left_moment);
    double inside = right - left, turned = middle * inside - (right_moment - left_moment);
    swirl *= 0.5 * rho * slipstream * slipstream;
    double tail = more * f->tail_alpha0 + faster * (f->tail_alpha * alpha * speed + q * f->tail_arm);
    double immersed = f->immersion_tailplane * inside;
    tail = immersed * tail + f->tail_swirl * f->swirl_tailplane * turned * swirl;
    tail = left_in * (immersed * more * de + tail / f->tau_elevator);
    lift += S * f->CLde * tail;
    M += S * c * f->Cmde * tail;
    double fin = more * f->fin_beta0 + faster * (beta * speed - r * f->fin_arm);
    fin -= f->swirl_recovered * swirl;
    fin = f->immersion_fin * fade * (more * dr - fin / f->tau_rudder);
    Y += S * f->CYdr * fin;
    L += S * b * f->Cldr * fin;
    N += S * b * f->Cndr * fin;

    double against = drag / speed;
    Vector F = vector(lift * sa - against * U, Y - against * V, -lift * ca - against * W);
    double lift_rate = 0.5 * half * c * S * f->CLad, X_rate = lift_rate * sa, Z_rate = -lift_rate * ca;
    double M_rate = 0.5 * half * c * S * c * f->Cmad + ref.z * X_rate - ref.x * Z_rate;
    Vector m = cross(ref, F);
    Aero all = {F, vector(L + m.x, M + m.y, N + m.z), X_rate, Z_rate, M_rate};
    return all;
}

static inline double servo_rate(double target, double position, double lag, double rate)
{
    return clip((target - position) / lag, -rate, rate);
}

static void servo_step(double target, double position, double lag, double rate, double dt, double *middle, double *end)
{
    double off = fabs(target - position), way = target > position ? 1.0 : -1.0;
    double running = smaller(larger(off / rate - lag, 0.0), dt), left = off - rate * running;
    double rest = left * exp(-(dt - running) / lag);
    double mean = (running * (off - 0.5 * rate * running) + lag * (left - rest)) / dt;
    *middle = target - way * 0.25 * (6.0 * mean - off - rest);
    *end = target - way * rest;
}

void state_derivative(const Plane *f, const Air *air, const double *x, const double *to, const double *gust,
                      double *out)
{
    double u = x[3], v = x[4], w = x[5], q0 = x[6], q1 = x[7], q2 = x[8], q3 = x[9];
    double p = x[10], q = x[11], r = x[12], height = -x[2], rho = density(air, height + air->elevation);
    double ratio = 1.0 + (height + air->elevation) * air->inverse_radius;
    Vector g = turned(q0, -q1, -q2, -q3, vector(0.0, 0.0, air->g / (ratio * ratio)));
    Vector blown = vector(air->wind_north + air->shear_north * height + gust[0],
                          air->wind_east + air->shear_east * height + gust[1], air->wind_down + gust[2]);
    blown = turned(q0, -q1, -q2, -q3, blown);
    Vector V = vector(u - blown.x, v - blown.y, w - blown.z), rates = vector(p, q, r);
    Power power = propeller(f, rho, V, rates, x[18], to[5]);
    Vector turn = turned(q0, -q1, -q2, -q3, vector(gust[3], gust[4], gust[5]));
    Vector through_air = vector(p - turn.x, q - turn.y, r - turn.z);
    Aero aero = aerodynamics(f, rho, V, through_air, x + 13, power.slipstream, power.swirl);
    double per_mass = 1.0 / f->mass, X_rate = aero.X_rate * per_mass, Z_rate = aero.Z_rate * per_mass;
    double X = (aero.force.x + power.force.x) * per_mass + g.x;
    double Y = (aero.force.y + power.force.y) * per_mass + g.y;
    double Z = (aero.force.z + power.force.z) * per_mass + g.z;
    double open = V.x * (Z - (p * V.y - q * V.x)) - V.z * (X - (q * V.z - r * V.y));
    double alpha_rate = open / (V.x * V.x + V.z * V.z + 1e-9 - (V.x * Z_rate - V.z * X_rate));
    X += X_rate * alpha_rate;
    Z += Z_rate * alpha_rate;

    Vector h = vector(f->Ixx * p - f->Ixy * q - f->Ixz * r, -f->Ixy * p + f->Iyy * q - f->Iyz * r,
                      -f->Ixz * p - f->Iyz * q + f->Izz * r);
    Vector turning = cross(rates, h);
    double L = aero.moment.x + power.moment.x - turning.x;
    double M = aero.moment.y + power.moment.y + aero.M_rate * alpha_rate - turning.y;
    double N = aero.moment.z + power.moment.z - turning.z;
    Vector ground = turned(q0, q1, q2, q3, vector(u, v, w));
    out[0] = ground.x, out[1] = ground.y, out[2] = ground.z;
    out[3] = X - (q * w - r * v), out[4] = Y - (r * u - p * w), out[5] = Z - (p * v - q * u);
    out[6] = 0.5 * (-q1 * p - q2 * q - q3 * r), out[7] = 0.5 * (q0 * p + q2 * r - q3 * q);
    out[8] = 0.5 * (q0 * q + q3 * p - q1 * r), out[9] = 0.5 * (q0 * r + q1 * q - q2 * p);
    out[10] = f->Jxx * L + f->Jxy * M + f->Jxz * N;
    out[11] = f->Jxy * L + f->Jyy * M + f->Jyz * N;
    out[12] = f->Jxz * L + f->Jyz * M + f->Jzz * N;
    out[13] = servo_rate(to[0], x[13], f->aileron_lag, f->aileron_rate);
    out[14] = servo_rate(to[1], x[14], f->aileron_lag, f->aileron_rate);
    out[15] = servo_rate(to[2], x[15], f->elevator_lag, f->elevator_rate);
    out[16] = servo_rate(to[3], x[16], f->rudder_lag, f->rudder_rate);
    out[17] = servo_rate(to[4], x[17], f->flap_lag, f->flap_rate);
    out[18] = power.omega_rate;
}

static void rk4_step(const Plane *plane, const Air *air, double *x, const double *targets, const double *gust,
                     double dt)
{
    double slope[N_STATE], stage[N_STATE], total[N_STATE], middle[5], end[5];
    const double lag[] = {plane->aileron_lag, plane->aileron_lag, plane->elevator_lag, plane->rudder_lag, plane->flap_lag};
    const double rate[] = {plane->aileron_rate, plane->aileron_rate, plane->elevator_rate, plane->rudder_rate,
                           plane->flap_rate};
    for (int i = 0; i < 5; i++) servo_step(targets[i], x[13 + i], lag[i], rate[i], dt, middle + i, end + i);
    memcpy(stage, x, sizeof stage);
    memcpy(total, x, sizeof total);
    for (int k = 0; k < 4; k++) {
        double weight = k == 0 || k == 3 ? dt / 6.0 : dt / 3.0, ahead = k == 2 ? dt : 0.5 * dt;
        state_derivative(plane, air, stage, targets, gust, slope);
        for (int i = 0; i < N_STATE; i++) {
            total[i] += weight * slope[i];
            stage[i] = x[i] + ahead * slope[i];
        }
        memcpy(stage + 13, k == 2 ? end : middle, sizeof end);
    }
    double norm = 1.0 / sqrt(total[6] * total[6] + total[7] * total[7] + total[8] * total[8] + total[9] * total[9]);
    memcpy(x, total, sizeof total);
    memcpy(x + 13, end, sizeof end);
    for (int i = 6; i < 10; i++) x[i] *= norm;
}

/* A flight by recorded targets (frames, N_TARGET) in a steady gust (6); x is moved on, and put into states (frames, N_STATE)
 * as it stands at the start of each frame. */
void fly(const Plane *plane, const Air *air, double *x, const double *targets, const double *gust, int frames,
         int substeps, double frame, double *states)
{
    for (int n = 0; n < frames; n++) {
        memcpy(states + n * N_STATE, x, N_STATE * sizeof *x);
        for (int k = 0; k < substeps; k++) rk4_step(plane, air, x, targets + n * N_TARGET, gust, frame / substeps);
    }
}
