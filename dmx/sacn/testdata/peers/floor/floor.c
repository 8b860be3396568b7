/* The floor: what the kernel asks for the datagrams of N universes at 44 frames a
 * second. One sendmmsg a frame, from buffers made before; nothing else.
 * usage: floor UNIVERSES SECONDS [ADDRESS]; without an address: multicast on net0.
 * It prints what that cost: ns of CPU time, those outside the system, packets. */
#define _GNU_SOURCE
#include <arpa/inet.h>
#include <net/if.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/socket.h>
#include <time.h>
#include <unistd.h>

static long long ns(struct timeval t) { return t.tv_sec * 1000000000LL + t.tv_usec * 1000LL; }

int main(int argc, char **argv) {
	if (argc < 3) return 2;
	int n = atoi(argv[1]), frames = atoi(argv[2]) * 44, warm = 22, done = 0;
	int fd = socket(AF_INET, SOCK_DGRAM, 0), room = 1 << 20;
	setsockopt(fd, SOL_SOCKET, SO_SNDBUF, &room, sizeof room);
	if (argc < 4) {
		struct ip_mreqn on = {.imr_ifindex = if_nametoindex("net0")};
		if (setsockopt(fd, IPPROTO_IP, IP_MULTICAST_IF, &on, sizeof on)) { perror("net0"); return 1; }
	}
	unsigned char(*packet)[638] = calloc(n, 638);
	struct mmsghdr *m = calloc(n, sizeof *m);
	struct iovec *v = calloc(n, sizeof *v);
	struct sockaddr_in *to = calloc(n, sizeof *to);
	for (int i = 0; i < n; i++) {
		unsigned char *p = packet[i];
		memcpy(p, "\0\x10\0\0ASC-E1.17\0\0\0\x72\x6e\0\0\0\4floor", 27);
		memcpy(p + 38, "\x72\x58\0\0\0\2floor", 11);
		p[108] = 100;
		p[113] = (i + 1) >> 8, p[114] = i + 1;
		memcpy(p + 115, "\x72\x0b\2\xa1\0\0\0\1\2\1", 10);
		to[i].sin_family = AF_INET, to[i].sin_port = htons(5568);
		to[i].sin_addr.s_addr = argc < 4 ? htonl(0xefff0000u + i + 1) : inet_addr(argv[3]);
		v[i].iov_base = p, v[i].iov_len = 638;
		m[i].msg_hdr.msg_name = &to[i], m[i].msg_hdr.msg_namelen = sizeof to[i];
		m[i].msg_hdr.msg_iov = &v[i], m[i].msg_hdr.msg_iovlen = 1;
	}
	struct rusage a, b;
	struct timespec next;
	clock_gettime(CLOCK_MONOTONIC, &next);
	for (int f = 0; f < warm + frames; f++) {
		if (f == warm) getrusage(RUSAGE_SELF, &a), done = 0;
		for (int i = 0; i < n; i++) packet[i][111]++, packet[i][126]++;
		for (int k = 0; k < n;) {
			int took = sendmmsg(fd, m + k, n - k, 0);
			if (took <= 0) break;
			k += took, done += took;
		}
		next.tv_nsec += 1000000000 / 44;
		if (next.tv_nsec >= 1000000000) next.tv_nsec -= 1000000000, next.tv_sec++;
		clock_nanosleep(CLOCK_MONOTONIC, TIMER_ABSTIME, &next, NULL);
	}
	getrusage(RUSAGE_SELF, &b);
	long long user = ns(b.ru_utime) - ns(a.ru_utime);
	printf("cost %lld %lld %d 0\n", user + ns(b.ru_stime) - ns(a.ru_stime), user, done);
	return 0;
}
