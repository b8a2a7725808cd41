/* A disk that fails, for the tests: preloaded into the program, it counts what the program does to the files of one folder
 * and lets one of these deeds go wrong, or kills the process before it. Files elsewhere and the terminal are left alone.
 *
 * FAULT_FOLDER  the folder, as the system names it
 * FAULT_AT      the number of the deed, from 1 on; 0 only counts
 * FAULT_HOW     eio, enospc: fails so; eio-on, enospc-on: it and all that follow; short: half is written;
 *               kill: SIGKILL before it; rename: every renaming fails, also those that bypass libc
 * FAULT_TOLD    a file elsewhere that receives a byte when something was let go wrong, and at the end the number of deeds
 */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <linux/audit.h>
#include <linux/filter.h>
#include <linux/seccomp.h>
#include <signal.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/prctl.h>
#include <sys/syscall.h>
#include <unistd.h>

static const char *folder, *told;
static long at, deeds;
static int how; /* 0 none, 1 once, 2 from then on, 3 short, 4 kill */
static int wrong;

static void tell(const char *text)
{
    int file = (int)syscall(SYS_openat, AT_FDCWD, told, O_WRONLY | O_CREAT | O_APPEND, 0600);
    if (file >= 0) {
        syscall(SYS_write, file, text, strlen(text));
        syscall(SYS_close, file);
    }
}

static void refuse_renaming(void)
{
    static const int calls[] = {
#ifdef SYS_rename
        SYS_rename, SYS_link,
#endif
#ifdef SYS_renameat
        SYS_renameat,
#endif
        SYS_renameat2, SYS_linkat,
    };
    struct sock_filter code[32];
    unsigned short n = 0;
    code[n++] = (struct sock_filter)BPF_STMT(BPF_LD | BPF_W | BPF_ABS, offsetof(struct seccomp_data, nr));
    for (size_t i = 0; i < sizeof calls / sizeof *calls; i++) {
        code[n++] = (struct sock_filter)BPF_JUMP(BPF_JMP | BPF_JEQ | BPF_K, (unsigned)calls[i], 0, 1);
        code[n++] = (struct sock_filter)BPF_STMT(BPF_RET | BPF_K, SECCOMP_RET_ERRNO | EIO);
    }
    code[n++] = (struct sock_filter)BPF_STMT(BPF_RET | BPF_K, SECCOMP_RET_ALLOW);
    struct sock_fprog filter = { n, code };
    if (prctl(PR_SET_NO_NEW_PRIVS, 1, 0, 0, 0) || prctl(PR_SET_SECCOMP, SECCOMP_MODE_FILTER, &filter))
        abort();
    tell("!");
}

__attribute__((constructor)) static void begin(void)
{
    const char *word = getenv("FAULT_HOW");
    folder = getenv("FAULT_FOLDER");
    told = getenv("FAULT_TOLD");
    at = getenv("FAULT_AT") ? atol(getenv("FAULT_AT")) : 0;
    if (!word || !folder || !told)
        return;
    wrong = strncmp(word, "enospc", 6) ? EIO : ENOSPC;
    how = !strcmp(word, "short") ? 3 : !strcmp(word, "kill") ? 4 : strstr(word, "-on") ? 2 : 1;
    if (!strcmp(word, "rename"))
        refuse_renaming();
}

__attribute__((destructor)) static void end(void)
{
    char text[32];
    if (!how)
        return;
    snprintf(text, sizeof text, " %ld", deeds);
    tell(text);
}

static int ours(const char *path)
{
    char here[PATH_MAX];
    if (!how)
        return 0;
    if (path[0] != '/')
        path = getcwd(here, sizeof here);
    return path && !strncmp(path, folder, strlen(folder));
}

static int our_file(int file)
{
    char link[64], path[PATH_MAX];
    if (!how || file < 3)
        return 0;
    snprintf(link, sizeof link, "/proc/self/fd/%d", file);
    ssize_t length = syscall(SYS_readlinkat, AT_FDCWD, link, path, sizeof path - 1);
    if (length < 0)
        return 0;
    path[length] = 0;
    return ours(path);
}

/* What becomes of a deed: 0 it is done, 1 it fails with errno set, 2 half of it is done. */
static int fate(int is_ours)
{
    if (!is_ours)
        return 0;
    deeds++;
    if (!at || deeds < at || (deeds > at && how != 2))
        return 0;
    tell("!");
    if (how == 4) {
        syscall(SYS_kill, getpid(), SIGKILL);
        pause();
    }
    if (how == 3)
        return 2;
    errno = wrong;
    return 1;
}

#define REAL(name) \
    static __typeof__(name) *real; \
    if (!real) \
        real = (__typeof__(name) *)dlsym(RTLD_NEXT, #name)

ssize_t write(int file, const void *bytes, size_t count)
{
    REAL(write);
    int fated = fate(our_file(file));
    return fated == 1 ? -1 : real(file, bytes, fated == 2 && count > 1 ? count / 2 : count);
}

ssize_t pwrite(int file, const void *bytes, size_t count, off_t offset)
{
    REAL(pwrite);
    int fated = fate(our_file(file));
    return fated == 1 ? -1 : real(file, bytes, fated == 2 && count > 1 ? count / 2 : count, offset);
}

ssize_t pwrite64(int file, const void *bytes, size_t count, off64_t offset)
{
    REAL(pwrite64);
    int fated = fate(our_file(file));
    return fated == 1 ? -1 : real(file, bytes, fated == 2 && count > 1 ? count / 2 : count, offset);
}

int fsync(int file)
{
    REAL(fsync);
    return fate(our_file(file)) == 1 ? -1 : real(file);
}

int fdatasync(int file)
{
    REAL(fdatasync);
    return fate(our_file(file)) == 1 ? -1 : real(file);
}

int ftruncate(int file, off_t length)
{
    REAL(ftruncate);
    return fate(our_file(file)) == 1 ? -1 : real(file, length);
}

int ftruncate64(int file, off64_t length)
{
    REAL(ftruncate64);
    return fate(our_file(file)) == 1 ? -1 : real(file, length);
}

int unlink(const char *path)
{
    REAL(unlink);
    return fate(ours(path)) == 1 ? -1 : real(path);
}

int rename(const char *from, const char *to)
{
    REAL(rename);
    return fate(ours(to)) == 1 ? -1 : real(from, to);
}
