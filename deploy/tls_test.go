package deploy_test

import (
	"path"
	"testing"
)

func TestTLS(t *testing.T) {
	base, patch := loadBase(t), loadPatch(t, tlsDir)
	pod := patch.Spec.Template.Spec
	if len(pod.Containers) != 1 || len(pod.Volumes) != 1 || len(pod.Containers[0].VolumeMounts) != 1 || len(pod.Containers[0].Env) != 2 {
		t.Fatal("want one container with two variables, one volume and its mount")
	}
	env, mount, volume := pod.Containers[0].Env, pod.Containers[0].VolumeMounts[0], pod.Volumes[0]
	if volume.Secret == nil {
		t.Fatal("the volume is not a Secret")
	}
	for _, err := range []error{
		equal("Deployment", patch.Name, base.deployment.Name),
		equal("container", pod.Containers[0].Name, container(base).Name),
		equal("first variable", env[0].Name, "EVENREACH_TLS_CERT"),
		equal("second variable", env[1].Name, "EVENREACH_TLS_KEY"),
		equal("folder of "+env[0].Name, path.Dir(env[0].Value), mount.MountPath),
		equal("folder of "+env[1].Name, path.Dir(env[1].Value), mount.MountPath),
		// The names that Kubernetes gives the parts of a Secret of type
		// kubernetes.io/tls.
		equal("file of "+env[0].Name, path.Base(env[0].Value), "tls.crt"),
		equal("file of "+env[1].Name, path.Base(env[1].Value), "tls.key"),
		equal("volume of the mount", mount.Name, volume.Name),
		equal("Secret", volume.Secret.SecretName, "evenreach-tls"),
		equal("readOnly", mount.ReadOnly, true),
		// A mount of a single file would not follow a renewal.
		equal("subPath", mount.SubPath, ""),
	} {
		if err != nil {
			t.Error(err)
		}
	}
}
