"""Literal photon Monte Carlo in numpy: all photons at once, analog absorption, every photon from
outside the stack. An independent second implementation: other random numbers, other absorption
game, no exact unscattered light, displacement histograms replaced by the positions themselves."""
import sys, time, numpy as np

def fresnel(n1, n2, c1):
    s2 = n1 / n2 * np.sqrt(np.maximum(0, 1 - c1 * c1))
    c2 = np.sqrt(np.maximum(0, 1 - s2 * s2))
    rs = ((n1 * c1 - n2 * c2) / (n1 * c1 + n2 * c2)) ** 2
    rp = ((n1 * c2 - n2 * c1) / (n1 * c2 + n2 * c1)) ** 2
    r = np.where(s2 >= 1, 1.0, 0.5 * (rs + rp))
    return r, c2

def run(layers, lower, photons, rng, angle=0.0):
    """layers: (n, mua, mus, g, d) in mm. Returns counts and crossings (x, y, sign, scattered)."""
    L = np.array(layers, float)
    n = np.concatenate([[1], L[:, 0], [1]]); mt = L[:, 1] + L[:, 2]
    alb = np.where(mt > 0, L[:, 2] / np.where(mt > 0, mt, 1), 0); g = L[:, 3]; d = L[:, 4]
    lay = np.zeros(photons, int); x = np.zeros(photons); y = np.zeros(photons); z = np.zeros(photons)
    u = np.zeros((photons, 3)); sc = np.zeros(photons, bool)
    c0 = np.cos(angle)
    r, c = fresnel(1.0, n[1], np.full(photons, c0))
    u[:, 0] = np.sin(angle) / n[1]; u[:, 2] = c
    keep = rng.random(photons) >= r
    out = dict(R=int((~keep).sum()), T=0, A=np.zeros(len(L), int))
    lay, x, y, z, u, sc = lay[keep], x[keep], y[keep], z[keep], u[keep], sc[keep]
    s = rng.exponential(size=len(x))
    cross = []
    while len(x):
        down = u[:, 2] > 0
        gap = np.where(down, d[lay] - z, z)
        with np.errstate(divide='ignore', invalid='ignore'):
            tof = gap / np.abs(u[:, 2])
            toc = np.where(mt[lay] > 0, s / np.where(mt[lay] > 0, mt[lay], 1), np.inf)
        hit = toc < tof
        w = np.where(hit, toc, tof)
        x += u[:, 0] * w; y += u[:, 1] * w; z += u[:, 2] * w
        s = np.where(hit, 0, np.maximum(0, s - w * mt[lay]))
        alive = np.ones(len(x), bool)
        # collisions
        i = np.flatnonzero(hit)
        absb = rng.random(len(i)) >= alb[lay[i]]
        np.add.at(out['A'], lay[i[absb]], 1); alive[i[absb]] = False
        i = i[~absb]
        gg = g[lay[i]]; xi = rng.random(len(i))
        gs = np.where(gg == 0, 1, gg)
        ct = np.where(gg == 0, 2 * xi - 1, (1 + gs**2 - ((1 - gs**2) / (1 - gs + 2 * gs * xi))**2) / (2 * gs))
        st = np.sqrt(np.maximum(0, 1 - ct**2)); phi = 2 * np.pi * rng.random(len(i))
        cp, sp = np.cos(phi), np.sin(phi)
        ux, uy, uz = u[i, 0], u[i, 1], u[i, 2]
        t = np.sqrt(np.maximum(1e-300, 1 - uz**2)); straight = np.abs(uz) > 1 - 1e-12
        nx = st * (ux * uz * cp - uy * sp) / t + ux * ct
        ny = st * (uy * uz * cp + ux * sp) / t + uy * ct
        nz = -st * cp * t + uz * ct
        u[i, 0] = np.where(straight, st * cp, nx); u[i, 1] = np.where(straight, st * sp, ny)
        u[i, 2] = np.where(straight, np.sign(uz) * ct, nz)
        sc[i] = True; s[i] = rng.exponential(size=len(i))
        # faces
        j = np.flatnonzero(~hit); dn = down[j]
        face = lay[j] + dn
        n1 = n[lay[j] + 1]; n2 = n[lay[j] + 1 + np.where(dn, 1, -1)]
        c1 = np.abs(u[j, 2]); r, c2 = fresnel(n1, n2, c1)
        refl = rng.random(len(j)) < r
        k = j[refl]; u[k, 2] = -u[k, 2]; z[k] = np.where(down[k], d[lay[k]], 0)
        m = ~refl; k = j[m]; dk = dn[m]; rat = (n1 / n2)[m]
        u[k, 0] *= rat; u[k, 1] *= rat; u[k, 2] = np.where(dk, c2[m], -c2[m])
        q = face[m] == lower
        cross.append(np.c_[x[k[q]], y[k[q]], np.where(dk[q], 1, -1), sc[k[q]]])
        gone_up = k[(face[m] == 0)]; gone_dn = k[face[m] == len(L)]
        out['R'] += len(gone_up); out['T'] += len(gone_dn)
        alive[gone_up] = False; alive[gone_dn] = False
        stay = k[(face[m] != 0) & (face[m] != len(L))]
        lay[stay] += np.where(down[stay], 1, -1)
        z[stay] = np.where(down[stay], 0, d[lay[stay]])
        lay, x, y, z, u, sc, s = lay[alive], x[alive], y[alive], z[alive], u[alive], sc[alive], s[alive]
    out['cross'] = np.concatenate(cross) if cross else np.zeros((0, 4))
    return out

cases = {
 "moderate": ([(1.5,0.05,2,0.8,1.5),(1.5,10,0,0,1.0)],1,0.0),
 "matched":  ([(1.0,0.05,2,0.8,1.5),(1.0,10,1,0,1.0)],1,0.0),
 "dense":    ([(1.5,0.02,10,0.9,1.5),(1.5,5,5,0.6,1.0)],1,0.0),
 "clamped":  ([(1.52,0.0,0,0,3.0),(1.5,0.1,4,0.7,2.0),(1.5,8,0,0,1.0)],2,0.0),
 "gap":      ([(1.49,0.03,3,0.8,1.0),(1.0,0,0,0,0.1),(1.58,10,2,0.5,1.0)],2,0.0),
 "oblique":  ([(1.5,0.05,2,0.8,1.5),(1.5,10,0,0,1.0)],1,20.0),
}
N=4_000_000; B=100000
rng=np.random.default_rng(20250)
print("case,quantity,value,standard_error")
for name,(lay,low,ang) in cases.items():
    parts=[]
    off=0
    if ang:
        for l in lay[:low]:
            s=np.sin(np.radians(ang))/l[0]; off+=l[4]*s/np.sqrt(1-s*s)
    acc=[]
    for b in range(N//B):
        o=run(lay,low,B,rng,np.radians(ang))
        c=o['cross']; x=c[:,0]-off; y=c[:,1]; w=c[:,2]; r=np.hypot(x,y)
        net=w.sum()
        def f(m): return (w*m).sum()
        gl,gw=1.0,2.0
        acc.append([net/B, o['R']/B,o['A'][low]/B, f(c[:,3]==0), f(r<=0.2), f(r<=0.5), f(r<=1.0),
           f((np.abs(x)<=0.5)&(np.abs(y)<=0.5))/2+f((np.abs(y)<=0.5)&(np.abs(x)<=0.5))/2,
           f((np.abs(x)<=0.5)&(np.abs(y)<=1.5))/2+f((np.abs(y)<=0.5)&(np.abs(x)<=1.5))/2,
           (f(np.exp(-8*(x**2/gl**2+y**2/gw**2)))+f(np.exp(-8*(y**2/gl**2+x**2/gw**2))))/2,
           (f(np.abs(x)<=0.5)+f(np.abs(y)<=0.5))/2,
           f(x*x+y*y)/2, net])
    a=np.array(acc); G=len(a)
    names=["delivered","reflected","absorbed_lower","sharp","within_0.2mm","within_0.5mm","within_1mm","top_hat_1x1","top_hat_1x3","gaussian_1x2","strip_1mm","variance_mm2"]
    for i,nm in enumerate(names):
        if i<3: v=a[:,i].mean(); se=a[:,i].std(ddof=1)/np.sqrt(G)
        else:
            v=a[:,i].sum()/a[:,-1].sum(); se=np.sqrt(G/(G-1)*((a[:,i]-v*a[:,-1])**2).sum())/a[:,-1].sum()
        se=max(se,1e-6)  # last digit
        print(f"{name},{nm},{v:.6f},{se:.6f}",flush=True)
