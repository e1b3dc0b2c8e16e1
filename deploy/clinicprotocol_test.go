package deploy_test

import (
	"path"
	"testing"
)

func TestClinicProtocol(t *testing.T) {
	mountsFile(t, protocolDir, "EVENREACH_PROTOCOL", "protocol.yaml", "evenreach-protocol")
}

func TestTenants(t *testing.T) {
	mountsFile(t, "kubernetes/components/tenants", "EVENREACH_TENANTS", "tenants.yaml", "evenreach-tenants")
	serves(t, withComponent(t, "tenants"))
}

// mountsFile wants a component to mount a ConfigMap of the site's, and to say where its file is.
func mountsFile(t *testing.T, component, option, file, configMap string) {
	t.Helper()
	base, patch := loadBase(t), loadPatch(t, component)
	pod := patch.Spec.Template.Spec
	if len(pod.Containers) != 1 || len(pod.Volumes) != 1 || len(pod.Containers[0].VolumeMounts) != 1 || len(pod.Containers[0].Env) != 1 {
		t.Fatal("want one container with one variable, one volume and its mount")
	}
	env, mount, volume := pod.Containers[0].Env[0], pod.Containers[0].VolumeMounts[0], pod.Volumes[0]
	if volume.ConfigMap == nil {
		t.Fatal("the volume is not a ConfigMap")
	}
	for _, err := range []error{
		equal("Deployment", patch.Name, base.deployment.Name),
		equal("container", pod.Containers[0].Name, container(base).Name),
		equal("variable", env.Name, option),
		equal("folder of "+env.Name, path.Dir(env.Value), mount.MountPath),
		equal("file of "+env.Name, path.Base(env.Value), file),
		equal("volume of the mount", mount.Name, volume.Name),
		equal("ConfigMap", volume.ConfigMap.Name, configMap),
		equal("readOnly", mount.ReadOnly, true),
	} {
		if err != nil {
			t.Error(err)
		}
	}
}
